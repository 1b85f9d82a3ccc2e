"""A long run minus a short one, both by hand at the same pressures: start and stop cancel. Start at `prepare`."""

from headrace.chain.streams import PairStream
from headrace.errors import NoAnswer
from headrace.jobs.reduce.context import Context, Prepared, stream_circuit, stream_of
from headrace.jobs.reduce.methods.by_hand import as_prepared, hand_of
from headrace.records.given import Flow


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze the difference of this run and the short run it names."""
    run = context.run
    short = None if run.minus is None else context.campaign.runs.get(run.minus)
    if short is None:
        raise ValueError(f"run {run.id} names no short run")  # files demands one
    if short.excluded is not None:
        raise NoAnswer(f"its short run {short.id} is left out ({short.excluded})")
    other = Context(campaign=context.campaign, run=short, sources=context.sources, notices=context.notices)
    same = next((one for one in short.flows if one.circuits == flow.circuits), None)
    if same is None:
        raise NoAnswer(f"its short run {short.id} flows into other circuits")
    long_hand, short_hand = hand_of(context, flow), hand_of(other, same)
    if not float(long_hand.volume.base[0]) > float(short_hand.volume.base[0]):
        raise NoAnswer(f"its short run {short.id} let no less water through than it did itself")
    name = stream_of(flow)
    circuit = stream_circuit(context.campaign, flow)
    frozen = PairStream(
        long=long_hand, short=short_hand, shared=context.shared(name), area_tap=context.area_tap(circuit)
    )
    return as_prepared(context, flow, frozen, long_hand)
