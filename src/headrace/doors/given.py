"""What is typed after an option, as SI floats; what cannot be read becomes a problem that says what to write."""

import datetime
from collections.abc import Iterable
from contextlib import suppress

from headrace.errors import InputError, Problem, QuantityError
from headrace.units import parse_quantity

SIDES = ("ox", "fuel")


def quantity(text: str, *, option: str, dimension: str, kind: str | None = None) -> float:
    """One quantity without a doubt of its own [SI].

    Raises:
        InputError: no such quantity, or a doubt was typed with it.
    """
    try:
        read = parse_quantity(text, dimension=dimension, kind=kind)  # type: ignore[arg-type]  # one of its own words
    except QuantityError as fault:
        raise InputError((fault.as_problem(file="", line=None, key=option),)) from fault
    if read.half is not None:
        raise _refused(
            option, f'"{text}"', "the wanted value alone", "leave the ± out: doubts come from the folder"
        )
    return read.value


def above_zero(text: str, *, option: str, dimension: str, kind: str | None = None) -> float:
    """As `quantity`, and more than 0."""
    value = quantity(text, option=option, dimension=dimension, kind=kind)
    if not value > 0:
        raise _refused(option, f'"{text}"', "more than 0", "")
    return value


def tanks(texts: Iterable[str]) -> dict[str, float]:
    """Tank pressures typed as ox="31.4 bar(g)", both sides [Pa gauge]; every fault is told, not only the first."""
    found: dict[str, float] = {}
    problems: list[Problem] = []
    for text in texts:
        side, equals, value = text.partition("=")
        side = side.strip()
        if not equals or side not in SIDES:
            problems += _refused(
                "--tank", f'"{text}"', "ox=... or fuel=...", '--tank ox="31.4 bar(g)"'
            ).problems
        elif side in found:
            problems += _refused(f"--tank {side}", "this side twice", "each side once", "").problems
        else:
            try:
                found[side] = quantity(value, option=f"--tank {side}", dimension="pressure", kind="gauge")
            except InputError as fault:
                problems += fault.problems
                found[side] = 0.0
    for side in SIDES:
        if side not in found:
            sample = f'--tank {side}="31.4 bar(g)"'
            problems += _refused(
                f"--tank {side}", "nothing", "the pressure of this tank, flowing", sample
            ).problems
    if problems:
        raise InputError(tuple(problems))
    return found


def moment(text: str, *, option: str) -> datetime.datetime | datetime.time:
    """A time of day, or a date with one.

    Raises:
        InputError: it is neither.
    """
    said = text.strip()
    for form in ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S"):
        with suppress(ValueError):
            return datetime.datetime.strptime(said, form)
    for form in ("%H:%M", "%H:%M:%S"):
        with suppress(ValueError):
            return datetime.datetime.strptime(said, form).time()
    raise _refused(option, f'"{text}"', "a time, or a date with one", '"14:30" or "2026-03-12 14:30"')


def day(text: str, *, option: str) -> datetime.date:
    """A date.

    Raises:
        InputError: it is none.
    """
    with suppress(ValueError):
        return datetime.date.fromisoformat(text.strip())
    raise _refused(option, f'"{text}"', "a date", "2026-03-12")


def _refused(key: str, found: str, expected: str, try_: str) -> InputError:
    return InputError((Problem(file="", line=None, key=key, found=found, expected=expected, try_=try_),))
