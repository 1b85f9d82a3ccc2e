"""The demo's chain with one source drawn at a time: variances agree with the budget within their sampling error."""

import numpy as np

from headrace.uncertainty.distributions import DISTRIBUTIONS
from headrace.uncertainty.gum import gum
from headrace.uncertainty.one_at_a_time import one_at_a_time
from support.demo_chain import demo_chain

OUTPUTS = ("tanks.ox", "tanks.fuel", "as_set.p_chamber", "as_set.of_ratio")
DRAWS = 4000


def test_variances_agree_with_the_budget() -> None:
    """Second-order parts of this chain are below 1e-3 of any row's variance."""
    chain = demo_chain()
    drawn = one_at_a_time(chain.model, chain.sources, draws=DRAWS, seed=4, outputs=OUTPUTS)
    first = gum(chain.model, chain.sources, outputs=OUTPUTS)
    wider = np.array([DISTRIBUTIONS[source.dist].variance(source.dof) for source in chain.sources])
    away = []
    for output in OUTPUTS:
        assert not drawn.lost[output].any()
        budget = first.contributions[first.outputs.index(output)] ** 2 * wider
        told = budget > 1e-8 * first.u[output] ** 2
        assert told.sum() > 40
        error = np.hypot(drawn.sampling_error[output], 2e-3 * budget)[told]
        away.extend((drawn.variance[output] - budget)[told] / error)
    away_ = np.array(away)
    assert np.max(np.abs(away_)) < 4.5
    assert abs(np.sqrt(np.mean(away_**2)) - 1) < 0.25
