"""certificates.toml: what each certificate states, and the reference standards behind them."""

import datetime
from typing import Annotated

from headrace.bench.meters.base import OVER
from headrace.files.schema.fields import Id, Key, Promise, Said, Table, V, told
from headrace.records.given import Accuracy


class ReferenceTable(Table):
    """A reference standard behind one or more certificates."""

    id: Annotated[str, Id()] = told("name of the standard", "DWT-2")
    accuracy: Annotated[Accuracy, Promise(dimension="ratio")] = told(
        "its own doubt, of reading; shared by all that was calibrated on it", "0.02 % of reading, k=2"
    )
    origin: str = told("what it is and who certified it", "dead-weight tester, certificate 7", default="")


class CertificateTable(Table):
    """One certificate. Its numbers are read when it is known what its instrument measures."""

    id: Annotated[str, Id()] = told("name of the certificate", "C-101")
    date: datetime.date = told("its date", datetime.date(2025, 11, 20))
    accuracy: Annotated[str, Said()] = told(
        "expanded uncertainty in all, the reference's share included", "0.05 % of reading + 0.02 % FS, k=2"
    )
    reference: Annotated[str, Id()] | None = told("the standard it rests on", "DWT-2", default=None)
    points: list[list[str | float]] = told(
        'indicated and true value, where corrections were found; a third word "up" or "down" where it was read both '
        "ways; of a meter: what `over` names and its factor there",
        [["0 bar", "0.0004 bar"], ["2.5 bar", "2.5009 bar"]],
        default_factory=list,
    )
    as_found: list[list[str | float]] = told(
        "likewise, before the instrument was adjusted; `points` are then as it was left",
        [["0 bar", "0.0012 bar"], ["2.5 bar", "2.5031 bar"]],
        default_factory=list,
    )
    former: Annotated[str, Id()] | None = told(
        "id of the certificate before this one: runs between the two lie between both", "C-087", default=None
    )
    valid_until: datetime.date | None = told(
        "last day for which it is to be used", datetime.date(2026, 11, 20), default=None
    )
    laboratory_pressure: Annotated[float, V("pressure", "abs", above=5e4, below=1.2e5)] | None = told(
        "air pressure at the laboratory, where an absolute instrument was certified in gauge pressure, or the reverse",
        "1002 mbar(a)",
        default=None,
    )
    over: Annotated[str, Key(what="quantity", names=tuple(OVER))] | None = told(
        f"of a meter: the quantity over which its points are given ({', '.join(OVER)})", "re", default=None
    )
    origin: str = told("laboratory and number", "calibration laboratory, number 12", default="")


class CertificatesTable(Table):
    """certificates.toml."""

    reference: list[ReferenceTable] = told("reference standards", [], default_factory=list)
    certificate: list[CertificateTable] = told("certificates", [], default_factory=list)
