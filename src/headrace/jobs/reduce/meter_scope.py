"""Say when a meter works outside the scope of the standard whose coefficient it borrows."""

from headrace.bench.meters.base import Built
from headrace.notices import Notice, Severity
from headrace.records.given import MeterGiven

WORDS = {
    "d_pipe": "pipe bore",
    "d_throat": "throat bore",
    "beta": "diameter ratio",
    "re": "pipe Reynolds number",
}


def out_of_scope(run: str, meter: MeterGiven, built: Built) -> tuple[Notice, ...]:
    """One notice for each range that is left. The wider doubt is already in the meter's coefficient."""
    return tuple(
        Notice(
            code="meter-out-of-scope",
            severity=Severity.DOUBT,
            text=(
                f"Meter {meter.id}: {WORDS.get(breach.quantity, breach.quantity)} {breach.found:.4g} is outside "
                f"{breach.low:g} to {breach.high:g}; a wider doubt of its coefficient is used."
            ),
            facts=(("found", breach.found), ("low", breach.low), ("high", breach.high)),
            limit=breach.source,
            try_="calibrate the meter in place against a scale, and give its own coefficient",
            about=f"meter {meter.id}, {breach.quantity}",
        )
        for breach in built.outside
    )
