"""certificates.toml to its records. A certificate's numbers wait for what its instrument or meter measures.

Start at `certificates`; `Reading` says how the two columns of its points are read.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from headrace.bench.meters import METERS
from headrace.bench.meters.base import OVER
from headrace.errors import Problem, QuantityError
from headrace.files.document import Document
from headrace.files.schema.certificates import CertificatesTable, CertificateTable
from headrace.files.schema.fields import Number, Promise, V, number_of
from headrace.files.schema.instruments import MEASURES, Measure
from headrace.files.validate import quantity_problem
from headrace.records.given import Accuracy, Certificate

Points = tuple[tuple[float, float], ...]
Place = tuple[str | int, ...]

WAYS = ("up", "down")
KINDS = ("gauge", "abs")
"""Kinds of pressure, either of which a laboratory may have certified in the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How a certificate is read. accuracy: dimension. over: of a meter, what its points may run over; else ().

    factor: of a meter, dimension of its factor. measure: of an instrument.
    """

    accuracy: str
    measure: Measure | None = None
    over: tuple[str, ...] = ()
    factor: str = "ratio"


def of_instrument(measures: str) -> Reading:
    """The certificate of an instrument: indicated and true, both as it measures."""
    return Reading(accuracy=MEASURES[measures].dimension, measure=MEASURES[measures])


def of_meter(kind: str) -> Reading:
    """The certificate of a meter: its factor over something."""
    return Reading(accuracy="ratio", over=METERS[kind].over, factor=METERS[kind].factor)


def certificates(
    table: CertificatesTable,
    document: Document,
    users: Mapping[str, tuple[Reading, ...]],
    problems: list[Problem],
) -> dict[str, Certificate]:
    """The certificates, each read as its first user is; a former one as the one that names it. users: by id."""
    out: dict[str, Certificate] = {}
    known = _with_former(table, users)
    for index, one in enumerate(table.certificate):
        found: list[Problem] = []
        record: Certificate | None = None
        for reading in known.get(one.id, ())[:1] or tuple(map(of_instrument, MEASURES)):
            found = []
            record = _Paper(one, index, document, reading, found).record()
            if record is not None or one.id in known:
                break
        problems += found
        if record is not None:
            out[one.id] = record
    problems += _out_of_order(table, document)
    return out


def _with_former(
    table: CertificatesTable, users: Mapping[str, tuple[Reading, ...]]
) -> dict[str, tuple[Reading, ...]]:
    known = dict(users)
    for _ in table.certificate:  # at most so many steps back
        for one in table.certificate:
            if one.former is not None and one.id in known:
                known.setdefault(one.former, known[one.id])
    return known


def _out_of_order(table: CertificatesTable, document: Document) -> list[Problem]:
    """Former certificates that are not older than the one that names them."""
    dates = {one.id: one.date for one in table.certificate}
    return [
        document.problem(("certificate", index, "former"), f'"{one.former}" of {dates[one.former]}',
                         f"an older certificate than this one of {one.date}", "swap the two, or mend a date")
        for index, one in enumerate(table.certificate)
        if one.former in dates and one.former is not None and not dates[one.former] < one.date
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Paper:
    """One certificate on its way to a record."""

    table: CertificateTable
    index: int
    document: Document
    how: Reading
    problems: list[Problem]

    def record(self) -> Certificate | None:
        accuracy: Accuracy | None = None
        try:
            accuracy = Promise(dimension=self.how.accuracy).read(self.table.accuracy)
        except QuantityError as error:
            self.told(("accuracy",), error)
        over = self.over()
        points, falling = self.points("points", over)
        found, found_falling = self.points("as_found", over)
        if accuracy is None or self.problems:
            return None
        table = self.table
        return Certificate(
            id=table.id, date=table.date, accuracy=accuracy, reference=table.reference, points=points, falling=falling,
            as_found=found, as_found_falling=found_falling, former=table.former, valid_until=table.valid_until,
            over=over, origin=table.origin or f"certificate {table.id}",
        )  # fmt: skip

    def told(self, where: Place, error: QuantityError) -> None:
        self.problems.append(quantity_problem(self.document, ("certificate", self.index, *where), error))

    def over(self) -> str:
        """What the points of a meter run over; "" for an instrument's."""
        allowed, said = self.how.over, self.table.over
        words = " or ".join(allowed)
        if not allowed:
            if said is not None:
                self.told(("over",), QuantityError(f'"{said}"', "no `over`: points of an instrument are indicated and "
                                                   "true", "leave it out"))  # fmt: skip
            return ""
        if said is None and len(allowed) > 1 and self.table.points:
            self.told(
                ("over",),
                QuantityError("nothing", f"what the points run over: {words}", f'over = "{allowed[0]}"'),
            )
        if said is not None and said not in allowed:
            self.told(("over",), QuantityError(f'"{said}"', f"{words}, as its meter takes it", ""))
        return said or allowed[0]

    def numbers(self, over: str) -> tuple[tuple[Number, float], tuple[Number, float]]:
        """How both columns are read, and what is added to each: gauge and absolute differ by the laboratory's air."""
        measure = self.how.measure
        if measure is None:
            return (V(OVER.get(over, "ratio"), above=0), 0.0), (V(self.how.factor, above=0), 0.0)
        air = self.table.laboratory_pressure
        if air is None or measure.kind not in KINDS:
            return (measure.number, 0.0), (measure.number, 0.0)
        other = V(measure.dimension, "abs" if measure.kind == "gauge" else "gauge")
        shift = air if measure.kind == "abs" else -air
        return (measure.number, 0.0), (other, shift)

    def points(self, key: str, over: str) -> tuple[Points, Points]:
        """Points upwards (or read one way only) and downwards."""
        ways: dict[str, list[tuple[float, float]]] = {way: [] for way in WAYS}
        columns = self.numbers(over)
        for row, texts in enumerate(getattr(self.table, key)):
            way = texts[2] if len(texts) == 3 else WAYS[0]
            if len(texts) not in (2, 3) or way not in WAYS:
                found = f"{len(texts)} values" if way in WAYS else f'"{way}"'
                wanted = 'two values: indicated, true; and perhaps "up" or "down"'
                self.told((key, row), QuantityError(found, wanted, ""))
                continue
            pair = []
            for column, ((number, shift), text) in enumerate(zip(columns, texts[:2], strict=True)):
                try:
                    pair.append(self.read(number, shift, text))
                except QuantityError as error:
                    self.told((key, row, column), error)
            if len(pair) == 2:
                ways[str(way)].append((pair[0], pair[1]))
        up, down = ways["up"], sorted(ways["down"])
        if any(b[0] <= a[0] for a, b in pairwise(up)) or any(b[0] <= a[0] for a, b in pairwise(down)):
            self.told((key,), QuantityError("indicated values that do not rise", "points in rising order, each once, "
                                            "those marked down apart", ""))  # fmt: skip
        if down and not up:
            self.told((key,), QuantityError('points marked "down" only', 'points marked "up" too', ""))
        return tuple(up), tuple(down)

    def read(self, number: Number, shift: float, text: str | float) -> float:
        return number_of(number.read(text)) + shift
