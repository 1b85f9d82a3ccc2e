"""What a kind of event declares: its keys as data, so that files can read them, and what it does to what stands."""

from collections.abc import Callable
from dataclasses import dataclass

from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class EventField:
    """One key. dimension: of a quantity, with the kind of a pressure and bounds in SI; without one it is text.

    to: what it names ("vessel", "valve", "instrument"); names: the words it may be; flag: true or false; reads: the
    key that names the instrument whose reading it is.
    """

    name: str
    help: str
    example: object
    dimension: str = ""
    kind: str | None = None
    above: float | None = None
    below: float | None = None
    to: str = ""
    names: tuple[str, ...] = ()
    flag: bool = False
    reads: str = ""
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class EventKind:
    """A kind of event. apply: what it does before what was read once it was over counts; gives the vessels it moved.

    tell: what was done, in a few words.
    """

    title: str
    fields: tuple[EventField, ...]
    apply: Callable[[Bench, Event], frozenset[str]]
    tell: Callable[[Event], str]


def nothing(bench: Bench, event: Event) -> frozenset[str]:  # noqa: ARG001 - the shape of every `apply`
    """For events that move neither water nor gas."""
    return frozenset()


VESSEL = EventField(name="vessel", help="which vessel", example="WV-A", to="vessel")
