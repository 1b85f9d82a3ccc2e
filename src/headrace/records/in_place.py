"""What runs say of a meter that they calibrate in place, against scale or level."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one source of error does to ln of the factor: weight times its error. The rest is the source itself."""

    name: str
    weight: float
    u: float
    dist: str
    dof: float
    scope: str
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InPlace:
    """factor: true over metered water; parts: of its doubt; runs that say so; re: of the pipe, least and most."""

    factor: float
    parts: tuple[Part, ...]
    runs: tuple[str, ...]
    re: tuple[float, float] | None = None
