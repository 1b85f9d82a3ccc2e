"""Say when a meter works outside the scope of the standard whose coefficient it borrows: once for the campaign."""

from collections.abc import Iterable
from math import log

from headrace.notices import Notice, Severity
from headrace.physics.hydraulics.limits import Breach

WORDS = {
    "d_pipe": "pipe bore [m]",
    "d_throat": "throat bore [m]",
    "beta": "diameter ratio",
    "re": "pipe Reynolds number",
}


def out_of_scope(breaches: Iterable[tuple[str, str, Breach]]) -> tuple[Notice, ...]:
    """One notice for each range that a meter leaves, with the farthest value and the runs it was seen in.

    Args:
        breaches: (run, meter, breach) as met. The wider doubt is already in the meter's coefficient.
    """
    groups: dict[tuple[str, str], list[tuple[str, Breach]]] = {}
    for run, meter, breach in breaches:
        groups.setdefault((meter, breach.quantity), []).append((run, breach))
    out = []
    for (meter, quantity), met in groups.items():
        worst = max((breach for _, breach in met), key=_distance)
        runs = sorted({run for run, _ in met})
        out.append(
            Notice(
                code="meter-out-of-scope",
                severity=Severity.DOUBT,
                text=(
                    f"Meter {meter}: {WORDS.get(quantity, quantity)} {worst.found:.4g} is outside {worst.low:g} to "
                    f"{worst.high:g} ({', '.join(runs)}); a wider doubt of its coefficient is used."
                ),
                facts=(("found", worst.found), ("low", worst.low), ("high", worst.high)),
                limit=worst.source,
                try_="calibrate the meter in place against a scale, and give its own coefficient",
                about=f"meter {meter}, {quantity}",
            )
        )
    return tuple(out)


def _distance(breach: Breach) -> float:
    return max(log(breach.low / breach.found), log(breach.found / breach.high))
