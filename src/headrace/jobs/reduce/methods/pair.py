"""A long run minus a short one, both by hand at the same pressures: start and stop cancel. Start at `prepare`."""

from headrace.chain.streams import PairStream
from headrace.jobs.reduce.context import Context, Prepared, stream_circuit, stream_of
from headrace.jobs.reduce.methods.by_hand import as_prepared, hand_of
from headrace.records.given import Flow


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze the difference of this run and the short run it names."""
    run = context.run
    short = None if run.minus is None else context.campaign.runs.get(run.minus)
    if short is None:
        raise ValueError(f"run {run.id} names no short run")  # files demands one
    other = Context(campaign=context.campaign, run=short, sources=context.sources, notices=context.notices)
    long_hand, short_hand = hand_of(context, flow), hand_of(other, short.flows[0])
    name = stream_of(flow)
    circuit = stream_circuit(context.campaign, flow)
    frozen = PairStream(
        long=long_hand, short=short_hand, shared=context.shared(name), area_tap=context.area_tap(circuit)
    )
    return as_prepared(context, flow, frozen, long_hand)
