"""The demo's campaign reduced and frozen, once for each process of the test run."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from headrace.chain.engine import Backward
from headrace.chain.water import Reduced
from headrace.demo import scenario
from headrace.files.folder import read
from headrace.jobs.balance import freeze_setpoints
from headrace.jobs.reduce import reduce
from headrace.uncertainty.source import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoChain:
    """The demo's characteristics with their sources, and its set points with theirs."""

    reduced: Reduced
    model: Backward
    sources: tuple[Source, ...]


@cache
def demo_chain() -> DemoChain:
    """Written, read, reduced and frozen for the design point."""
    with TemporaryDirectory() as folder:
        scenario.write(Path(folder))
        campaign = read(Path(folder))
    reduced = reduce(campaign)
    assert campaign.engine is not None
    design = campaign.engine.design
    assert design.of_ratio is not None
    model, builder = freeze_setpoints(
        campaign, reduced, p_chamber=design.p_chamber, m_dot=design.m_dot, of_ratio=design.of_ratio
    )
    return DemoChain(reduced=reduced, model=model, sources=builder.all_sources(model.water))
