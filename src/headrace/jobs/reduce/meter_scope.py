"""Say when a meter works outside the scope of the standard whose coefficient it borrows: once for the campaign."""

from collections.abc import Iterable
from math import log

from headrace.notices import Notice, Severity, spelled
from headrace.physics.hydraulics.limits import Breach

VOUCHES = {
    "own": "the standard does not cover it, so its own coefficient and the doubt stated with it alone vouch for it",
    "wider": "a wider doubt of its coefficient is used",
    "points": "its factor is held as at the nearest end",
}
"""What vouches for the flow outside: the meter's own coefficient, a wider doubt, the end of its certificate."""
TRY = {
    "points": "have it calibrated over this range, or run inside that of its certificate",
}
IN_PLACE = "calibrate the meter in place against a scale over this span of flow, and give its own coefficient"
WORDS = {
    "d_pipe": "pipe bore [m]",
    "d_throat": "throat bore [m]",
    "beta": "diameter ratio",
    "re": "pipe Reynolds number",
    "frequency": "frequency [Hz]",
    "volume_flow": "volume flow [m3/s]",
    "mass_flow": "mass flow [kg/s]",
    "nu": "kinematic viscosity [m2/s]",
}


Left = tuple[str, str, str, Breach]
"""A range that a meter left: run, meter, a key of `VOUCHES`, the range."""


def out_of_scope(breaches: Iterable[Left]) -> tuple[Notice, ...]:
    """One notice for each range that a meter leaves, with the farthest value and the runs it was seen in.

    Args:
        breaches: as met. Where the standard's coefficient is used its wider doubt is already in the meter.
    """
    groups: dict[tuple[str, str, str], list[tuple[str, Breach]]] = {}
    for run, meter, vouches, breach in breaches:
        groups.setdefault((meter, breach.quantity, vouches), []).append((run, breach))
    out = []
    for (meter, quantity, vouches), met in groups.items():
        worst = max((breach for _, breach in met), key=_distance)
        runs = sorted({run for run, _ in met})
        out.append(
            Notice(
                code="meter-out-of-scope",
                severity=Severity.DOUBT,
                text=(
                    f"Meter {meter}: {WORDS.get(quantity, quantity)} {spelled(worst.found)} is outside "
                    f"{spelled(worst.low)} to {spelled(worst.high)} ({', '.join(runs)}); {VOUCHES[vouches]}."
                ),
                facts=(("found", worst.found), ("low", worst.low), ("high", worst.high)),
                limit=worst.source,
                try_=TRY.get(vouches, IN_PLACE),
                about=f"meter {meter}, {quantity}",
            )
        )
    return tuple(out)


def _distance(breach: Breach) -> float:
    return max(log(breach.low / breach.found), log(breach.found / breach.high))
