"""Binary measurement files of channels in groups (.tdms): one group becomes a table, its clock found or asked for.

Channels are read as the file scales them; whether a scale kept beside was applied already is asked. A group is one
table only as far as its channels share length, step and start; what does not is left out and told. The number of a
line is that of the sample, from 1. Start at `look` and `read`.
"""

import io
import logging
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from headrace.files.loggers.base import (
    KEY,
    NO_ANSWERS,
    Answers,
    Dialect,
    Event,
    Floats,
    Header,
    Item,
    Question,
    Rows,
    TimeAxis,
    Unreadable,
)
from headrace.files.loggers.delimited import Record, look_by, read_by
from headrace.files.loggers.dialect import column_kind
from headrace.files.loggers.family import Logger
from headrace.files.loggers.headings import name_columns, split_unit
from headrace.files.loggers.numbers import NumberForm
from headrace.files.loggers.order import DropOuts, TimeOrder
from headrace.files.loggers.report import Understanding
from headrace.files.loggers.timeaxis import Choice, Column, choose_axis, typical_step
from headrace.files.loggers.timeforms import EPOCH_SCALE, reader

MARK, INDEX = b"TDSm", b"TDSh"
EXTRA = 'pip install "headrace[tdms]", or export the group as delimited text'
SAMPLE = 1000
"""Values that choose the clock."""

BLOCK = 1 << 16
STEP_APART = 0.01
"""Relative difference from which a stated step contradicts the times beside it."""

LARGER = 64
"""Times its own size to which a file may unpack."""

UNIT_KEYS = ("unit_string", "unit", "units", "ni_unitdescription", "unit_description")
FACTORS = ("scale", "slope", "gain", "factor", "scale_factor")
OFFSETS = ("offset", "intercept", "zero", "bias")
INCREMENT = "wf_increment"
RATE = re.compile(r"(\d+(?:\.\d+)?)\s*(k?)(?:hz|s/s|sps|samples/s)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel in memory. values: numbers, texts or moments; step [s] and start as its properties state them."""

    name: str
    unit: str | None
    values: Any
    step: float | None
    start: np.datetime64 | None
    offset: float  # of the first sample after the start [s]
    notes: tuple[str, ...] = ()
    asked: bool = False  # is a scale kept beside already in the numbers?

    @property
    def numeric(self) -> bool:
        """True for numbers (and states)."""
        return self.values.dtype.kind in "fiub"


def claims(head: bytes, name: str) -> bool:  # noqa: ARG001 - the bytes tell
    """True when the first bytes carry the mark of such a file, or of its index."""
    return head[:4] in (MARK, INDEX)


def look(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Understanding:
    """What a file holds; nothing is kept or written.

    Raises:
        Unreadable: damaged, without samples, an index file; the extra is missing.
    """
    return look_by(_table(source, answers), b"")


def read(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Record:
    """The numbers of one group.

    Raises:
        Unreadable: as `look`.
        QuestionsOpen: something that run.toml must answer first.
    """
    return read_by(_table(source, answers), b"")


# -- the container --------------------------------------------------------------------------------------------------


def _table(source: bytes | str | Path, answers: Answers) -> "Table":
    try:
        data = source if isinstance(source, bytes) else Path(source).read_bytes()
    except OSError as fault:
        raise Unreadable(
            f"the file cannot be opened ({fault.strerror})", file=Path(str(source)).name
        ) from fault
    if data.startswith(INDEX):
        raise Unreadable("this is the index that stands beside the data", try_="bring the .tdms file itself")
    groups, notes = _groups(data, answers)
    return Table.of(groups, notes, answers)


def _groups(data: bytes, answers: Answers) -> tuple[dict[str, list[Channel]], list[str]]:
    """Channels of every group, and notes on the file as a whole."""
    try:
        import nptdms
        from nptdms.log import log_manager
    except ImportError:
        raise Unreadable("a .tdms file is read with an extra that is not installed", try_=EXTRA) from None
    log_manager.set_level(logging.CRITICAL)  # what it would print is told in notes
    try:
        with nptdms.TdmsFile.open(io.BytesIO(data)) as file:
            claimed = sum(len(one) for group in file.groups() for one in group.channels())
            if claimed > LARGER * max(len(data), 1):
                raise Unreadable("the file claims more samples than it can hold: it is damaged")
            cut = bool(file.file_status.incomplete_final_segment)
            groups = {
                group.name: [_channel(one, answers) for one in group.channels()] for group in file.groups()
            }
    except Unreadable:
        raise
    except Exception as fault:  # the library has no error of its own for damaged bytes: any may come
        said = f"{type(fault).__name__}: {str(fault)[:60]}"
        raise Unreadable(f"the file is damaged ({said})", try_="copy the file again") from None
    notes = ["the file was cut off (power lost?): what is whole of its last part is read"] if cut else []
    return groups, notes


def _channel(one: Any, answers: Answers) -> Channel:
    said = {str(key).lower(): value for key, value in one.properties.items()}
    notes: list[str] = []
    unit = next((str(said[key]).strip() for key in UNIT_KEYS if str(said.get(key, "")).strip()), None)
    own = any(key.startswith("ni_scale[") for key in said) and said.get("ni_scaling_status") != "scaled"
    factor, offset = (_number(said, keys) for keys in (FACTORS, OFFSETS))
    beside = factor is not None and not own
    zero = offset or 0.0
    values = one.read_data(scaled=not (own and answers.scaling == "stored"))
    values = np.asarray(values)
    if own:
        applied = answers.scaling != "stored"
        notes.append(
            f"channel {one.name} is {'scaled by' if applied else 'read raw, without'} the file's own scale"
        )
        unit = unit if applied else None
    if factor is not None and beside and answers.scaling == "applied" and values.dtype.kind in "fiu":
        values = values.astype(np.float64) * factor + zero
        notes.append(f"channel {one.name} is scaled by the numbers beside it: times {factor!r} plus {zero!r}")
    elif beside:
        notes.append(
            f"channel {one.name} has a scale beside it (times {factor!r} plus {zero!r}), not applied"
        )
        said_unit, unit = unit, unit if answers.scaling == "applied" else None
        if said_unit is not None and unit is None:
            notes.append(
                f'"{said_unit}" is taken for the unit of channel {one.name} as scaled, not as stored'
            )
    step = said.get(INCREMENT)
    start = said.get("wf_start_time")
    return Channel(
        name=str(one.name), unit=unit, values=values, notes=tuple(notes),
        step=float(step) if isinstance(step, (int, float)) and 0 < step < np.inf else None,
        start=start if isinstance(start, np.datetime64) and start > np.datetime64("1990-01-01") else None,
        offset=float(said.get("wf_start_offset") or 0.0), asked=beside and answers.scaling is None,
    )  # fmt: skip


def _number(said: dict[str, Any], keys: Sequence[str]) -> float | None:
    for key in keys:
        if isinstance(said.get(key), (int, float, np.number)) and np.isfinite(said[key]):
            return float(said[key])
    return None


# -- one group as a table -------------------------------------------------------------------------------------------


def _chosen(
    groups: dict[str, list[Channel]], answers: Answers, notes: list[str], questions: list[Question]
) -> str:
    """The group that is read: the only one with numbers, the answered one, or the largest with a question."""
    sizes = {
        name: max((len(c.values) for c in many if c.numeric), default=0) for name, many in groups.items()
    }
    tables = [name for name, size in sizes.items() if size > 1]
    if not tables:
        raise Unreadable(
            "no group has samples (zero rows of numbers)", try_="look whether the logger recorded"
        )
    chosen = answers.table if answers.table in groups else max(tables, key=lambda one: sizes[one])
    if answers.table not in groups and (len(tables) > 1 or answers.table is not None):
        said = ", ".join(f'"{name}" ({sizes[name]} samples)' for name in tables)
        wrong = (
            f'no group is called "{answers.table}"; there are'
            if answers.table
            else "several groups hold samples:"
        )
        questions.append(Question(code="several-tables", text=f"{wrong} {said}", candidates=tuple(tables),
                                  key=KEY + "table"))  # fmt: skip
    if len(groups) > 1:
        notes.append(f'read from group "{chosen}"')
    starts = {name: next((c.start for c in groups[name] if c.start is not None), None) for name in tables}
    for one, other in combinations(tables, 2):
        first, second = starts[one], starts[other]
        if first is not None and second is not None and first != second:
            apart = (second - first) / np.timedelta64(1, "s")
            notes.append(
                f'group "{other}" starts {abs(apart):.6g} s {"after" if apart > 0 else "before"} "{one}"'
            )
        if _same(groups[one], groups[other]):
            notes.append(f'groups "{one}" and "{other}" hold the same values')
    return str(chosen)


def _same(one: list[Channel], other: list[Channel]) -> bool:
    numbers = [[c.values for c in many if c.numeric and len(c.values) > 1] for many in (one, other)]
    return len(numbers[0]) == len(numbers[1]) and all(
        np.array_equal(a, b) for a, b in zip(*numbers, strict=True)
    )


def _alike(channels: list[Channel], cut: bool, notes: list[str]) -> list[Channel]:
    """The channels that share one table: the most common length, step and start; the others are told."""
    full = [one for one in channels if len(one.values)]
    if len(full) < len(channels):
        empty = ", ".join(one.name for one in channels if not len(one.values))
        notes.append(f"without a sample: {empty}")
    numeric = [one for one in full if one.numeric]
    if cut:
        length = Counter(len(one.values) for one in numeric).most_common(1)[0][0]
        near = [one for one in full if len(one.values) > 0.5 * length]
        least = min(len(one.values) for one in near)
        if any(len(one.values) != least for one in near):
            notes.append(f"cut to {least} samples, as many as its shortest channel has whole")
        names = {one.name for one in near}
        full = [replace(one, values=one.values[:least]) if one.name in names else one for one in full]
    for what, of in (("number of samples", _length), ("start", _start)):  # other steps: asked with the clock
        stated = Counter(said for one in full if one.numeric and (said := of(one)) is not None)
        most = stated.most_common(1)[0][0] if stated else None
        for one in [one for one in full if of(one) not in (most, None)]:
            notes.append(
                f"channel {one.name} is left out: its {what}, {of(one)}, is not that of others, {most}"
            )
            full = [kept for kept in full if kept is not one]
    return full


def _length(one: Channel) -> str | None:
    return str(len(one.values))


def _start(one: Channel) -> str | None:
    return None if one.start is None else str(one.start)


def _titled(channels: list[Channel], notes: list[str]) -> tuple[list[str], list[str | None]]:
    """Names and units; where name and property name different units, neither is trusted."""
    names, units, renamed = name_columns(tuple(one.name for one in channels), (None,) * len(channels))
    notes += renamed
    for place, one in enumerate(channels):
        said = split_unit(one.name)[1]
        if one.unit and said and one.unit.lower() != said.lower():
            notes.append(f'channel "{one.name}" is in "{said}" by its name and in "{one.unit}" by its property: '
                         "neither is trusted")  # fmt: skip
            units[place] = None
        else:
            units[place] = one.unit or said
    return names, units


def _texts(one: Channel) -> tuple[str, ...]:
    head = one.values[:SAMPLE]
    if one.values.dtype.kind == "M":
        return tuple(text.replace("T", " ") for text in np.datetime_as_string(head, unit="us"))
    if one.numeric:
        return tuple(map(repr, head.astype(np.float64).tolist()))
    return tuple(str(text) for text in head)


@dataclass(slots=True)
class Table:
    """A group as a parser whose rows come at the end: no bytes are fed to it."""

    dialect: Dialect | None
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    lines: int
    time: Floats
    values: Floats

    @classmethod
    def of(cls, groups: dict[str, list[Channel]], said: list[str], answers: Answers) -> "Table":
        """The group that is meant, as a table."""
        notes, questions = list(said), list[Question]()
        group = _chosen(groups, answers, notes, questions)
        channels = _alike(groups[group], bool(said), notes)
        notes += [note for one in channels for note in one.notes]
        unclear = [one.name for one in channels if one.asked]
        if unclear:
            text = f"{', '.join(unclear)}: are the numbers to be scaled by the scale beside them, or taken as stored?"
            questions.append(Question(code="raw-or-scaled", text=text, candidates=("applied", "stored"),
                                      key=KEY + "scaling"))  # fmt: skip
        names, units = _titled(channels, notes)
        if answers.names is not None:
            if len(answers.names) == len(names):
                names = list(answers.names)
            else:
                text = f"there are {len(names)} channels, and {len(answers.names)} names were given"
                questions.append(
                    Question(code="names-do-not-fit", text=text, candidates=(), key=KEY + "names")
                )
        texts = [_texts(one) for one in channels]
        kinds = ["time" if c.values.dtype.kind == "M" else "number" if c.numeric else column_kind(texts[k])
                 for k, c in enumerate(channels)]  # fmt: skip
        columns = [Column(k, names[k], units[k], kinds[k], texts[k]) for k in range(len(channels))]
        choice = _clock(columns, channels, group, answers)
        axis, size = choice.axis, max(len(one.values) for one in channels)
        dialect = Dialect(
            encoding="binary", delimiter="none", decimal="point", header_lines=0, names=tuple(names),
            units=tuple(units), kinds=tuple(kinds), titles=tuple(one.name for one in channels), time=axis,
        )  # fmt: skip
        return cls(
            dialect, (*questions, *choice.questions), (*notes, *choice.notes), size,
            _times(axis, channels, size), np.stack([_values(one, kinds[k]) for k, one in enumerate(channels)], axis=1),
        )  # fmt: skip

    def feed(self, data: bytes) -> Iterator[Event]:  # noqa: ARG002 - the file was read whole
        """Nothing."""
        return iter(())

    def feed_blocks(self, data: bytes) -> Iterator[Item]:  # noqa: ARG002 - as above
        """Nothing."""
        return iter(())

    def close(self) -> Iterator[Event]:
        """Not served: a group is read in blocks."""
        raise NotImplementedError("a .tdms file is read in blocks")

    def close_blocks(self) -> Iterator[Item]:
        """All rows, judged by their order."""
        assert self.dialect is not None
        order, drops = TimeOrder(self.dialect), DropOuts(self.dialect)
        yield Header(0, self.dialect.names, self.dialect.units)
        lines = np.arange(1, self.lines + 1, dtype=np.int64)
        for at in range(0, self.lines, BLOCK):
            part = slice(at, at + BLOCK)
            yield from drops.push(order.push((Rows(lines[part], self.time[part], self.values[part]),)))
        yield from drops.push(order.close())
        yield from drops.close()


# -- its clock ------------------------------------------------------------------------------------------------------


def _clock(columns: list[Column], channels: list[Channel], group: str, answers: Answers) -> Choice:
    """The clock of the group: a channel of times, the step that its properties state, a rate, or a question."""
    steps = sorted({one.step for one in channels if one.step is not None})
    stepped = answers.time_column == INCREMENT or (
        answers.time_column is None and answers.sample_rate is None
    )
    found = choose_axis(
        columns, NumberForm("."), replace(answers, time_column=None) if stepped else answers, named=True
    )
    none = any(question.code == "no-time-column" for question in found.questions)
    if not stepped or not steps:
        return _asked(found, columns, group) if none else found
    if len(steps) > 1 and (none or answers.time_column == INCREMENT):
        said = ", ".join(f"{step:.9g} s" for step in steps)
        text = f"the channels state different steps ({said}) for equal numbers of samples"
        rates = tuple(f"{1 / step:.9g} Hz" for step in steps)
        question = Question(code="no-time-column", text=text, candidates=rates, key=KEY + "sample_rate")
        return Choice(TimeAxis(), (question,))
    stated = _stated(channels, steps[0])
    if none or answers.time_column == INCREMENT:
        return stated
    seen = (
        typical_step(_times(found.axis, channels, SAMPLE)[:SAMPLE].tolist()) if not found.questions else None
    )
    apart = [step for step in steps if seen is not None and abs(step / seen - 1) > STEP_APART]
    if not apart:
        return found
    name = columns[found.axis.columns[0]].name
    text = f"channel {name} steps by {seen:.6g} s, the property {INCREMENT} says {apart[0]:.6g} s"
    asked = Question(code="two-clocks", text=text, candidates=(name, INCREMENT), key=KEY + "time_column")
    return Choice(found.axis, (*found.questions, asked), found.notes)


def _asked(found: Choice, columns: list[Column], group: str) -> Choice:
    """The question for a rate, with what a name says of one."""
    rates = [hit for text in (group, *(c.name for c in columns)) for hit in RATE.findall(text)]
    said = tuple(dict.fromkeys(f"{float(number) * (1000 if kilo else 1):g} Hz" for number, kilo in rates))
    return replace(found, questions=tuple(
        replace(one, candidates=said, text=one.text + (f" (a name says {', '.join(said)})" if said else ""))
        if one.code == "no-time-column" else one for one in found.questions
    ))  # fmt: skip


def _stated(channels: list[Channel], step: float) -> Choice:
    """The clock that the properties state: so long a step, from such a moment."""
    start = next((one.start for one in channels if one.start is not None), None)
    note = f"no channel is a clock: its step, {step:.9g} s, is that of the property {INCREMENT}"
    if start is None:
        return Choice(TimeAxis(form="rate", unit=INCREMENT, rate=1 / step, step=step), notes=(note,))
    seconds = int(start.astype("datetime64[s]").astype(np.int64))
    axis = TimeAxis(form="stamp", unit=INCREMENT, base=seconds, rate=1 / step, step=step, zone=True)
    return Choice(axis, notes=(note, f"its first sample is at {start} UTC, as the file says"))


def _times(axis: TimeAxis, channels: list[Channel], size: int) -> Floats:
    """Time of every sample [s] on the axis."""
    if not axis.columns:
        if axis.rate is None or axis.step is None:
            return np.full(size, np.nan) if axis.form == "none" else np.arange(size) / (axis.rate or 1.0)
        first = (
            next((one for one in channels if one.start is not None), None) if axis.form == "stamp" else None
        )
        begin = (
            0.0 if first is None or first.start is None else _seconds(np.array([first.start]), axis.base)[0]
        )
        return np.asarray(begin + (0.0 if first is None else first.offset) + np.arange(size) * axis.step)
    many = [channels[place] for place in axis.columns]
    values = many[0].values
    if values.dtype.kind == "M":
        return _seconds(values, axis.base)
    if axis.form == "elapsed":
        return np.asarray(values.astype(np.float64) * axis.scale)
    if axis.form == "epoch" and many[0].numeric:
        scale = EPOCH_SCALE[axis.unit or "epoch s"]
        whole = np.floor(values / scale)
        return np.asarray((whole - axis.base) + (values - whole * scale) / scale)
    read = reader(axis)
    joined = zip(
        *(([f"{v:.9g}" for v in one.values] if one.numeric else map(str, one.values)) for one in many),
        strict=True,
    )
    return np.array([read(" ".join(parts)) for parts in joined], dtype=np.float64)


def _seconds(moments: Any, base: int) -> Floats:
    """Moments as seconds after a base in whole seconds since 1970, to the nanosecond."""
    whole = moments.astype("datetime64[s]")
    rest = (moments - whole) / np.timedelta64(1, "s")
    return np.asarray((whole.astype(np.int64) - base).astype(np.float64) + rest)


def _values(one: Channel, kind: str) -> Floats:
    """Numbers of a channel; of texts those that are numbers; NaN for moments."""
    if one.numeric:
        return np.asarray(one.values.astype(np.float64))
    if one.values.dtype.kind == "M" or kind not in ("number", "words"):
        return np.full(len(one.values), np.nan)
    read = NumberForm(".").read_column([str(text) for text in one.values])
    return np.array(read, dtype=np.float64)


FAMILY = Logger(
    title="binary channels in groups, with the extra tdms",
    suffixes=(".tdms",),
    claims=claims,
    look=look,
    read=read,
    open_parser=None,
)
