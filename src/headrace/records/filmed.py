"""A gauge that was photographed or filmed: how it was read."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Filmed:
    """camera: name of the set-up. u_parallax: standard uncertainty of reading off the pointer from aside, SI; one error
    of the set-up and the gauge in all its frames and runs. step: to what each frame was read, SI; None: not known.
    between: longest time between two frames [s], over which its channel is straight.
    """

    camera: str
    u_parallax: float
    step: float | None
    between: float = 0.0
