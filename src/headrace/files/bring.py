"""A logger file into the campaign: copied byte for byte, sealed with its hash, understood, and its run.toml drafted.

What the bytes do not say is asked with "?" in the draft, never guessed. The run appears in one step, or not at all, and
while a "?" is left it is not used. `look` only looks.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from headrace.errors import InputError, Problem
from headrace.files import build, loggers
from headrace.files.cache import Cache
from headrace.files.caught import catch_lines, roles_of, warm
from headrace.files.caught import taps as taps_of
from headrace.files.document import Document, dotted, read_document
from headrace.files.loggers.base import Answers
from headrace.files.loggers.report import Understanding
from headrace.files.references import found_at
from headrace.files.schema.bench import BenchTable
from headrace.files.schema.fields import ID
from headrace.files.schema.run import LoggerTable
from headrace.files.traces import logger_key, misfit, row_by_row, sealed_hash
from headrace.files.validate import questions_in, validate
from headrace.files.write import sidecar, taken, together
from headrace.records.given import Instrument

OPEN = "?"


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What was brought in, and what was made of it.

    run: id. file: raw file, relative to the campaign. mapped: column to instrument, as drafted; unmapped: the
    other columns.
    draft: text of run.toml. notes: sentences for the reader.
    """

    run: str
    file: str
    sha256: str
    understanding: Understanding
    mapped: Mapping[str, str]
    unmapped: tuple[str, ...]
    draft: str
    notes: tuple[str, ...] = ()


def look(file: Path | str, answers: Answers | None = None) -> Understanding:
    """What a logger file holds; nothing is written.

    Raises:
        headrace.files.loggers.base.Unreadable: with the reason.
    """
    found = loggers.look(Path(file), answers or Answers())
    if answers is None and roles_of(found) is not None:
        return loggers.look(Path(file), row_by_row(LoggerTable()))
    return found


def bring(folder: Path | str, file: Path | str, *, run: str | None = None) -> Brought:
    """Bring a logger file into a campaign as a new run.

    Args:
        folder: the campaign. file: the logger file, which stays where it is.
        run: id; default: the next free W01, W02 ...
    Raises:
        InputError: no campaign there, the file is unreadable (with the reason), or the run exists; nothing was written.
    """
    root, source = Path(folder), Path(file)
    if not root.is_dir():
        found = "no folder" if not root.exists() else "a file"
        raise InputError((Problem(file=str(root), line=None, key="", found=found, expected="the campaign's folder",
                                  try_=f"headrace new {root} begins one"),))  # fmt: skip
    read_document(root, "campaign.toml")
    loggers.family_of(source)  # it can be opened
    name = run if run is not None else next_run(root)
    if not re.fullmatch(ID, name) or name != name.strip():
        raise InputError((Problem(file="", line=None, key="run", found=f'"{name}"', try_="W07",
                                  expected="a run id of letters, digits, blank and . _ # -"),))  # fmt: skip
    if source.name == "run.toml" or source.name.startswith(".") or not source.name.isprintable():
        raise InputError((Problem(file=source.name, line=None, key="", found="this file name",
                                  expected="a printable name without a leading dot, not run.toml",
                                  try_="give the file another name"),))  # fmt: skip
    home = root / "runs" / name
    if home.exists():
        raise taken(home)
    where, answers = f"runs/{name}/{source.name}", Answers()
    around = _around(root)
    with together(home) as beside:
        copy = beside.receive(source)
        with Cache(root=root).keeper(where, answers) as keeper:
            understanding = loggers.look(source, answers, keep=keeper.take, copy=copy.take)
            sha256 = copy.done()
            keeper.looked(beside.place / source.name, sha256, understanding)
        if roles_of(understanding) is not None:
            understanding = loggers.look(source, row_by_row(LoggerTable()))
        mapped = dict(_mapped(understanding, around.instruments))
        text = draft(source.name, understanding, mapped, around)
        beside.write(f"{source.name}.sha256", sidecar(source.name, sha256))
        beside.write("run.toml", text.encode("utf-8"))
    clocks = set(understanding.dialect.time.columns)
    return Brought(
        run=name, file=where, sha256=sha256, understanding=understanding,
        mapped={column: instrument.tag for column, (instrument, _) in mapped.items()},
        unmapped=tuple(one.name for place, one in enumerate(understanding.columns)
                       if one.name not in mapped and place not in clocks),
        draft=text, notes=tuple(_twins(root, name, sha256)),
    )  # fmt: skip


def next_run(folder: Path | str) -> str:
    """The next free run id: W01, W02, ..."""
    home = Path(folder) / "runs"
    names = [one.name for one in home.iterdir()] if home.is_dir() else []
    numbers = [int(match[1]) for one in names if (match := re.fullmatch(r"W(\d{1,6})", one))]
    return f"W{max(numbers, default=0) + 1:02d}"


def _twins(root: Path, run: str, sha256: str) -> Iterator[str]:
    """Other runs that hold the same bytes, by the hashes beside their raw files."""
    for path in sorted((root / "runs").glob("*/*.sha256")):
        if path.parent.name != run and sealed_hash(path.with_suffix("")) == sha256:
            yield f"the same bytes are in run {path.parent.name} already"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Around:
    """What the campaign says so far, for the draft: instruments that can be read, ids of circuits and lines."""

    instruments: Mapping[str, Instrument]
    circuits: tuple[str, ...]
    lines: tuple[str, ...]
    thermometers: Mapping[str, str]


def _around(root: Path) -> _Around:
    """As much of bench and article as can be read: a fault in them is no reason to lose a record."""
    bench, article = _document(root, "bench.toml"), _document(root, "article.toml")
    instruments: dict[str, Instrument] = {}
    thermometers: dict[str, str] = {}
    if bench is not None and (table := validate(bench, BenchTable).table) is not None:
        instruments = build.instruments(table.instrument, "bench.toml")
        thermometers = {one.id: one.temperature for one in table.line if one.temperature}
    return _Around(instruments=instruments, thermometers=thermometers,
                   circuits=_ids(article, "circuit.*.id"), lines=_ids(bench, "line.*.id"))  # fmt: skip


def _document(root: Path, file: str) -> Document | None:
    try:
        return read_document(root, file)
    except InputError:
        return None


def _ids(document: Document | None, where: str) -> tuple[str, ...]:
    return tuple(one for _, one in found_at(document.data, where) if isinstance(one, str)) if document else ()


def words(text: str) -> tuple[str, ...]:
    """The words of a name, for comparing: "DP-A" and "dp venturi (a)" share dp and a.

    >>> words("PM-OX [bar]")
    ('pm', 'ox', 'bar')
    """
    return tuple(re.findall(r"[^\W_]+", text.casefold()))


def _holds(whole: tuple[str, ...], part: tuple[str, ...]) -> bool:
    return bool(part) and any(whole[at : at + len(part)] == part for at in range(len(whole) - len(part) + 1))


def _mapped(
    understanding: Understanding, instruments: Mapping[str, Instrument]
) -> Iterator[tuple[str, tuple[Instrument, str | None]]]:
    """Columns that hold one tag, and no other column does, and whose unit fits; with their unit."""
    tags = {tag: words(tag) for tag in instruments}
    found: dict[str, list[str]] = {}
    for place, column in enumerate(understanding.columns):
        if place in understanding.dialect.time.columns or column.min is None:
            continue
        hits = [tag for tag, parts in tags.items() if _holds(words(column.name), parts)]
        best = [
            tag for tag in hits if not any(tag != other and _holds(tags[other], tags[tag]) for other in hits)
        ]
        if len(best) == 1:
            found.setdefault(best[0], []).append(column.name)
    units = {column.name: column.unit for column in understanding.columns}
    for tag, columns in found.items():
        unit = units[columns[0]]
        if len(columns) == 1 and (unit is None or misfit(instruments[tag], columns[0], unit) is None):
            yield columns[0], (instruments[tag], unit)


def quoted(text: str) -> str:
    """A text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _one_line(text: str) -> str:
    """A text that may stand in a comment."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def draft(
    file: str,
    understanding: Understanding,
    mapped: Mapping[str, tuple[Instrument, str | None]],
    around: _Around,
) -> str:
    """run.toml as far as the file and the campaign say it; "?" where they do not."""
    roles = roles_of(understanding)
    circuit = quoted(around.circuits[0] if len(around.circuits) == 1 else OPEN)
    line = quoted(around.lines[0] if len(around.lines) == 1 else OPEN)
    tags = {instrument.tag for instrument, _ in mapped.values()}
    taps = [one.tag for one, _ in mapped.values() if one.measures in ("gauge", "abs")]
    logged = len(around.lines) == 1 and around.thermometers.get(around.lines[0]) in tags
    if roles is not None:
        taps, logged = taps_of(around.instruments), warm(roles, around.instruments)
    start = (
        f"; the record begins at {_one_line(understanding.time.start)}" if understanding.time.start else ""
    )
    water = 'water_temperature = "?"  # as "17.2 degC ± 0.5 K"; not needed where the thermometer of the line is logged'
    out = [
        f"# Drafted by bring from {_one_line(file)}: {understanding.rows} rows. A value of \"?\" is an open question;",
        "# the run is not used until each has its answer.",
        'kind = "water"               # water | hot',
        f'method = "{"metered" if roles is None else "bucket"}"'
        f"{' ' * (11 if roles is None else 12)}# metered | weighed | by-hand | long-minus-short | bucket",
        f'date = "?"                   # as 2026-03-12, without quotes{start}',
        'ambient = "?"                # barometer, as "1009 mbar(a) ± 1 mbar"',
        f"# {water}" if logged else water,
        f"file = {quoted(file)}",
        "",
        "[[flow]]",
        f"circuits = [{circuit}]{_choices(around.circuits)}",
        f"lines = [{line}]{_choices(around.lines)}",
        f"p_tap = {quoted(taps[0] if len(taps) == 1 else OPEN)}{_choices(tuple(sorted(taps)))}",
        "",
        "[logger]",
    ]  # fmt: skip
    for question in understanding.questions:
        choices = (
            f"   # one of {', '.join(map(_one_line, question.candidates))}" if question.candidates else ""
        )
        out.append(f"# {_one_line(question.text)}")
        out.append(f'# {logger_key(question.key).removeprefix("logger.")} = "?"{choices}')
    if roles is not None:
        return "\n".join((*out, "", *catch_lines(roles, around.instruments))) + "\n"
    out += ["", "[channels]"]
    for column in (one for place, one in enumerate(understanding.columns)
                   if place not in understanding.dialect.time.columns):  # fmt: skip
        if column.name in mapped:
            instrument, unit = mapped[column.name]
            said = ', unit = "?"' if unit is None and misfit(instrument, column.name, None) else ""
            out.append(f"{quoted(column.name)} = {{ instrument = {quoted(instrument.tag)}{said} }}")
        else:
            unit_text = quoted(column.unit or OPEN)
            out.append(f'# {quoted(column.name)} = {{ instrument = "?", unit = {unit_text} }}')
    return "\n".join(out) + "\n"


def open_keys(draft: str) -> tuple[str, ...]:
    """Keys of a drafted run.toml that still hold a "?", dotted, in order.

    >>> open_keys('date = "?"\\nkind = "water"\\n[[flow]]\\nlines = ["?"]')
    ('date', 'flow[0].lines[0]')
    """
    return tuple(dotted(path) for path in questions_in(tomllib.loads(draft)))


def _choices(names: tuple[str, ...]) -> str:
    return f"   # one of {', '.join(map(_one_line, names))}" if len(names) > 1 else ""
