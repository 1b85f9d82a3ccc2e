"""campaign.toml: whose campaign it is, and the limits and default doubts that its owner holds."""

import datetime
from typing import Annotated

from headrace.files.schema.fields import Q, Said, Table, V, told
from headrace.records.given import Stated


class LimitsTable(Table):
    """The owner's limits; each has a default."""

    injector_drop: Annotated[float, V("ratio", above=0, below=1)] = told(
        "least injector drop over chamber pressure", "15 %", default=0.15
    )
    vapour_margin: Annotated[float, V("pressure", "drop", least=0)] = told(
        "least manifold pressure above vapour pressure", "2 bar", default=2e5
    )
    cavitation_doubt: Annotated[float, V("ratio", above=0)] = told(
        "cavitation number below which a plain hole is doubted", 2.0, default=2.0
    )
    cavitation_stop: Annotated[float, V("ratio", above=0)] = told(
        "cavitation number below which a plain hole cavitates", 1.5, default=1.5
    )
    tare_shift: Annotated[float, V("ratio", above=0, below=1)] = told(
        "largest shift of a zero over a run, of span", "0.1 %", default=1e-3
    )
    window: Annotated[float, V("time", above=0)] = told("shortest window", "2 s", default=2.0)
    re_span: Annotated[float, V("ratio", least=1)] = told(
        "greatest over least Reynolds number below which no slope of E is carried", 2.0, default=2.0
    )


class DefaultsTable(Table):
    """Doubts that hold until the campaign itself knows better; relative, k = 1."""

    run_to_run: Annotated[float, V("ratio", least=0, below=1)] = told(
        "spread between runs of one circuit", "0.3 %", default=0.003
    )
    day_to_day: Annotated[float, V("ratio", least=0, below=1)] = told(
        "spread between days", "0.3 %", default=0.003
    )
    re_distance: Annotated[float, V("ratio", least=0, below=1)] = told(
        "doubt per unit of ln(Re) beyond the tested span", "0.5 %", default=0.005
    )
    water_density: Annotated[float, V("ratio", least=0, below=0.1)] = told(
        "bench water against pure water", "0.02 %", default=2e-4
    )
    lag: Annotated[float, V("ratio", least=0, below=1)] = told(
        "doubt of a stated lag or filter, as a share of its delay, where it has no ± of its own",
        "20 %",
        default=0.2,
    )
    polytropic: Annotated[Stated, Q("ratio", least=1, most=2)] = told(
        "exponent of the air in a run read by hand",
        "1.2 ± 0.1 (k=1)",
        default=Stated(value=1.2, u=0.1, dist="normal", origin="default", text="1.2 ± 0.1 (k=1)"),
    )
    coverage: Annotated[float, V("ratio", least=0.5, below=1)] = told(
        "probability of the printed intervals", "95 %", default=0.95
    )
    draws: int = told("Monte Carlo draws", 100000, default=100_000, ge=1000, le=2_000_000)


class CampaignTable(Table):
    """campaign.toml."""

    format: int = told("version of this folder format", 1, ge=1, le=1)
    name: Annotated[str, Said()] = told("name of the campaign", "Heron water campaign")
    date: datetime.date = told("date that results carry", datetime.date(2026, 3, 14))
    invented: bool = told("true when the data are made up; printed on everything", True, default=False)
    signers: list[Annotated[str, Said()]] = told(
        "who signs the sheet", ["A. Example", "B. Example"], default_factory=list
    )
    limits: LimitsTable = told("the owner's limits", {}, default_factory=LimitsTable)
    defaults: DefaultsTable = told("default doubts", {}, default_factory=DefaultsTable)
