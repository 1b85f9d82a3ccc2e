"""Everything that headrace raises on purpose.

HeadraceError
    InputError        something given must be mended: one or more `Problem`s, all told at once
    QuantityError     one text that is no quantity; files and doors turn it into a `Problem` (also a ValueError)
    NoAnswer          what was given is sound, but the equations have no answer
        OutOfDomain     a formula was asked where it is not defined
        Infeasible      no tank pressures reach the wanted point, or none that holds

A broken promise of our own code is a plain ValueError or KeyError: that is our fault, not the user's,
and the doors report it as such.
"""

from dataclasses import dataclass


class HeadraceError(Exception):
    """Base of all; caught at the doors and nowhere else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault in what was given, as the reader must see it to mend it.

    `file` is relative to the campaign folder ("" for the command line); `line` counts from 1, or is None
    when the fault has no line (a missing file); `key` is the dotted path ("" where there is none).
    """

    file: str
    line: int | None
    key: str
    found: str
    expected: str
    try_: str

    def __str__(self) -> str:
        place = self.file or "command line"
        if self.line is not None:
            place += f", line {self.line}"
        if self.key:
            place += f", {self.key}"
        text = f"{place}: found {self.found}; expected {self.expected}."
        return f"{text} Try: {self.try_}." if self.try_ else text


class InputError(HeadraceError):
    """The folder or the command must be mended. Holds every problem found, not only the first."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class QuantityError(HeadraceError, ValueError):
    """A text that cannot be read as the quantity wanted, and what to write instead.

    It knows neither file nor key: whoever read the text adds them (`as_problem`). It is a ValueError too,
    so that a schema's validators collect it with the other faults instead of stopping at it.
    """

    def __init__(self, found: str, expected: str, try_: str) -> None:
        super().__init__(found, expected, try_)
        self.found, self.expected, self.try_ = found, expected, try_

    def __str__(self) -> str:
        text = f"found {self.found}; expected {self.expected}."
        return f"{text} Try: {self.try_}." if self.try_ else text

    def as_problem(self, *, file: str, line: int | None, key: str) -> Problem:
        """The same fault with its place, ready for an `InputError`."""
        return Problem(
            file=file, line=line, key=key, found=self.found, expected=self.expected, try_=self.try_
        )


class NoAnswer(HeadraceError):  # noqa: N818 - named for what the caller learns
    """The input is sound; the equations have no answer."""


class OutOfDomain(NoAnswer):
    """A formula was asked outside the domain on which it is defined."""

    def __init__(self, quantity: str, found: object, allowed: str, hint: str = "") -> None:
        super().__init__(quantity, found, allowed, hint)
        self.quantity, self.found, self.allowed, self.hint = quantity, found, allowed, hint

    def __str__(self) -> str:
        text = f"{self.quantity} = {self.found} is not {self.allowed}"
        return f"{text} ({self.hint})" if self.hint else text


class Infeasible(NoAnswer):
    """The wanted engine point cannot be reached: which side, by how much, by whose limit, and what to try."""

    def __init__(self, side: str, why: str, limit: str = "", try_: str = "") -> None:
        super().__init__(side, why, limit, try_)
        self.side, self.why, self.limit, self.try_ = side, why, limit, try_

    def __str__(self) -> str:
        return f"{self.side}: {self.why}"
