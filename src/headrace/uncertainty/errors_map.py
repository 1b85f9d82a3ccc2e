"""What a model is called with: the error of every source, by name. A name nobody declared raises.

Start at `Errors`. `evaluate` is the one place where a model is called.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

Values = float | NDArray[np.float64]
Draws = NDArray[np.float64]


class UnknownSource(KeyError):  # noqa: N818 -- named like the other errors here, by what happened
    """A model asked for a source of error that was never declared: a fault of ours, never taken as zero."""

    def __init__(self, name: str, near: tuple[str, ...] = ()) -> None:
        super().__init__(name, near)
        self.name, self.near = name, near

    def __str__(self) -> str:
        text = f"no source of error is called {self.name!r}"
        return f"{text}; near it: {', '.join(self.near)}" if self.near else text


class Errors(Mapping[str, Values]):
    """Errors by source name: 0 is as nominal; an array holds one error per draw."""

    __slots__ = ("_values",)

    def __init__(self, values: Mapping[str, Values]) -> None:
        self._values = dict(values)

    def __getitem__(self, name: str) -> Values:
        try:
            return self._values[name]
        except KeyError:
            raise UnknownSource(name, tuple(get_close_matches(name, self._values, n=3))) from None

    def get(self, name: str, default: object = None) -> Values:  # noqa: ARG002 -- no default is honoured
        """The same as indexing: an unknown name raises whatever default is offered."""
        return self[name]

    def __contains__(self, name: object) -> bool:
        return name in self._values

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __repr__(self) -> str:
        return f"Errors({len(self._values)} sources)"


Model = Callable[[Errors], Mapping[str, Values]]
"""Pure: the same errors give the same outputs, each of shape (draws,) or a constant."""


def evaluate(
    model: Model, errors: Mapping[str, Values], size: int, outputs: Sequence[str] | None = None
) -> dict[str, Draws]:
    """Call the model and give every output (or the named ones) the shape (size,).

    A draw without an answer (infinite or NaN) is NaN, seen and counted by the callers, so numpy's warnings
    about it are muted for the time of the call. Raises ValueError for an output of another shape, KeyError
    for a missing one.
    """
    with np.errstate(all="ignore"):
        got = model(Errors(errors))
    names = tuple(got) if outputs is None else tuple(outputs)
    result: dict[str, Draws] = {}
    for name in names:
        value = np.asarray(got[name], dtype=np.float64)
        if value.shape not in ((), (1,), (size,)):
            raise ValueError(f"output {name!r} has shape {value.shape}; expected ({size},) or a constant")
        result[name] = np.broadcast_to(np.where(np.isfinite(value), value, np.nan), (size,))
    return result
