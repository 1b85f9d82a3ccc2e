"""From effective areas to the engine: forwards (`predict`), backwards (`setpoints`), with everything that may stop it.

`build`    engine and characteristics frozen into the chain, every source of the hot side declared
`solve`    the nominal point, forwards and backwards
`answer`   GUM and Monte Carlo on the frozen chain, as an `Answer`
`margins`  what the owner's limits say of the nominal answer
`reach`    what to say of a point that the tanks do not hold
"""

from headrace.jobs.balance.solve import freeze_setpoints, predict, setpoints

__all__ = ["freeze_setpoints", "predict", "setpoints"]
