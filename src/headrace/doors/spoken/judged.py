"""The verdict on a run in words: what next first, then why, then to what the vessels settle."""

from headrace.doors.terminal import heading, indented, line, table
from headrace.paper.numbers import bounds, pieces
from headrace.records.verdict import Verdict


def tell(said: Verdict) -> None:
    """Everything."""
    heading(f"Run {said.run}: {'good' if said.good else 'not good'}")
    indented("Next: ", f"{said.next}. {_sentence(said.what)}")
    for reason in said.reasons:
        indented("  ", reason)
    if not said.settled:
        return
    coverage = next(iter(said.settled.values())).coverage
    heading(f"Settles to, ± and interval at {100 * coverage:.3g} %")
    rows = [
        (name, str(pieces(one)), bounds(one), said.basis.get(name, "")) for name, one in said.settled.items()
    ]
    table(("vessel", "pressure", "interval", "from"), rows)
    line("Stored air: local codes and licensed practice rule. Read the gauge before anybody goes near.")


def _sentence(text: str) -> str:
    return (text[:1].upper() + text[1:]).rstrip(".") + "."
