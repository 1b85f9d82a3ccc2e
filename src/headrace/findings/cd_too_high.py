"""A discharge coefficient that drilled holes do not reach: area, count, timing or port is wrong."""

import numpy as np

from headrace.bench.elements import ELEMENTS
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

DOUBTFUL = 0.95
"""Plain drilled holes stay below it. Common practice."""

IMPOSSIBLE = 1.0
"""More than the ideal flow."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One notice for each circuit of plain holes whose mean Cd in this run is too high."""
    out = []
    for stream in dict.fromkeys(reading.stream for reading in evidence.readings):
        circuit = evidence.campaign.article.circuits.get(stream)
        if circuit is None or not ELEMENTS[circuit.element].plain:
            continue
        known = [one.cd for one in evidence.readings if one.stream == stream and one.cd is not None]
        cd = float(np.mean(known)) if known else 0.0
        if cd <= DOUBTFUL:
            continue
        hard = cd > IMPOSSIBLE
        out.append(
            Notice(
                code="cd-too-high",
                severity=Severity.STOP if hard else Severity.DOUBT,
                text=(
                    f"Run {evidence.run.id}, circuit {stream}: Cd = {cd:.3f} on the stated area of its "
                    "holes; " + ("more than the ideal flow." if hard else "drilled holes do not reach that.")
                ),
                facts=(("cd", cd),),
                limit=f"Cd {DOUBTFUL:g} for plain holes, stop above {IMPOSSIBLE:g}; common practice",
                try_=(
                    "likely in this order: bore or count of the holes is wrong (gauge with plug pins); "
                    "mass or stopwatch (longer catch); pressure taken from the wall where the flow is "
                    "fast, or upstream of the wrong part; leak past the holes. The effective area may "
                    "still be right; Cd may not be quoted"
                ),
                run=evidence.run.id,
                about=f"circuit {stream}",
            )
        )
    return tuple(out)
