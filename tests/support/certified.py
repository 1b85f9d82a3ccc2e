"""A gauge at the tap with a certificate that follows a former one, for tests of findings."""

import datetime

from headrace.records.given import Accuracy, Certificate
from support.run_evidence import DAY, Scene, instrument

TOP = 2e5
NONE = Accuracy(text="none")
OLD = Certificate(
    id="C1", date=datetime.date(2024, 1, 1), accuracy=NONE, points=((0.0, 100.0), (TOP, TOP + 100.0))
)
NEW = Certificate(
    id="C2",
    date=datetime.date(2026, 1, 1),
    accuracy=NONE,
    points=((0.0, 5.0), (TOP, TOP + 5.0)),
    as_found=((0.0, 300.0), (TOP, TOP + 300.0)),
    former="C1",
    valid_until=DAY,
)


def scene(**changes: object) -> Scene:
    """A clean run with it."""
    one = Scene()
    one.instruments["PM-OX"] = instrument("PM-OX", "gauge", 10e5, certificate="C2", **changes)
    one.certificates.update({"C1": OLD, "C2": NEW})
    return one
