"""Whether propagation of uncertainty may stand in for propagation of distributions: JCGM 101:2008, clause 8.

Start at `compare`.
"""

from dataclasses import dataclass

from headrace.uncertainty.gum import GumResult
from headrace.uncertainty.monte_carlo import MonteCarloResult
from headrace.uncertainty.samples import tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far the ends of the two intervals of one output lie apart.

    d_low, d_high: distance of the lower and the upper ends, 0 or more, in the unit of the output.
    tolerance: what is allowed: half a unit of the last significant digit of u.
    agrees: both distances are within it; false when either result has no interval.
    """

    output: str
    d_low: float
    d_high: float
    tolerance: float
    agrees: bool


def compare(gum: GumResult, monte_carlo: MonteCarloResult, *, digits: int = 2) -> dict[str, Agreement]:
    """Compare the intervals of all outputs that both results have, at the coverage of the Monte Carlo.

    Args:
        gum: Propagation of uncertainty.
        monte_carlo: The same model and sources by draws, enough of them (JCGM 101:2008, 8.2: `adaptive`, with
            a tolerance of a fifth).
        digits: Significant digits of u that matter.
    Returns:
        output -> `Agreement`.
    Source:
        JCGM 101:2008, 8.1.
    """
    result: dict[str, Agreement] = {}
    for name in gum.outputs:
        if name not in monte_carlo.summary:
            continue
        low, high = gum.interval(name, monte_carlo.coverage)
        drawn_low, drawn_high = monte_carlo.interval(name)
        d_low, d_high = abs(low - drawn_low), abs(high - drawn_high)
        allowed = tolerance(gum.u[name], digits)
        result[name] = Agreement(
            output=name,
            d_low=d_low,
            d_high=d_high,
            tolerance=allowed,
            agrees=d_low <= allowed and d_high <= allowed,
        )
    return result
