"""A run as a record, with the least that it needs."""

import datetime

from headrace.records.given import Flow, Origin, RunGiven, Stated


def water_run(run: str, *, lines: tuple[str, ...]) -> RunGiven:
    """A metered water run without a trace."""
    return RunGiven(
        id=run, kind="water", method="metered", date=datetime.date(2026, 3, 12), trace=None,
        flows=(Flow(circuits=("ox",), lines=lines, p_tap="PM-OX"),), ambient=Stated(value=1e5),
        water_temperature=None, origin=Origin(file=f"runs/{run}/run.toml", sha256=""),
    )  # fmt: skip
