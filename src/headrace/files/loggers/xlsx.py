"""Spreadsheet workbooks of loggers: one sheet's cells become lines of text that the delimited reader understands.

So headings, units, forms of time and checks of order are the same as everywhere; the number of a line is the number of
its row, and a number cell is written with all its digits. What only a workbook has is settled here: which sheet, days
that count from 1900 or 1904, times that lost their hour, numbers kept as text, formulas, blocks beside and under the
table. Start at `look` and `read`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path

import numpy as np

from headrace.files.loggers import glued
from headrace.files.loggers.base import KEY, NO_ANSWERS, Answers, Parser, Question, QuestionsOpen, Unreadable
from headrace.files.loggers.delimited import DelimitedParser, Record, look_by, read_by
from headrace.files.loggers.family import HEAD, Logger
from headrace.files.loggers.numbers import NumberForm, is_loose_number, judge_marks
from headrace.files.loggers.report import Understanding
from headrace.files.loggers.workbook import SAVE_AS, Workbook, letters

ZIP, OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
EXTRA = 'pip install "headrace[xlsx]", or export the sheet as delimited text'
ENOUGH = 3
"""Rows of numbers that make a table."""

SMALL = 0.5
"""A block beside the table with fewer rows of numbers than this share of it is a block of its own."""

UNDER = 0.1
"""A block under the table, after an empty row, with fewer rows than this share of it is no part of it..."""

UNDER_ROWS = 10
"""... nor one of fewer rows than this when the table has as many at least."""

DAY = re.compile(r"(\d{4})-(\d\d)-(\d\d) (\d\d):(\d\d):(\d\d)(\.\d+)?")
SHOWN = 8  # addresses listed in a note

Cells = list[list[str]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The text of one sheet's rows, its count of rows of numbers, and notes and questions about it."""

    name: str
    rows: Cells
    size: int
    notes: tuple[str, ...]
    questions: tuple[Question, ...]


def claims(head: bytes, name: str) -> bool:
    """True for a workbook: a packed one by its parts or its name, an old or locked one by its mark."""
    if head.startswith(OLE):
        return True
    return head.startswith(ZIP) and (b"xl/" in head or Path(name).suffix.lower() in (".xlsx", ".xlsm"))


def look(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Understanding:
    """What a workbook holds; nothing is kept or written.

    Raises:
        Unreadable: damaged, locked, of another kind, or without a table of numbers; the extra is missing.
    """
    sheet = _sheet(source, answers)
    text = _text(sheet)
    return _told(look_by(_parser(text, answers), text), sheet)


def read(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Record:
    """The numbers of one sheet.

    Raises:
        Unreadable: as `look`.
        QuestionsOpen: something that run.toml must answer first.
    """
    sheet = _sheet(source, answers)
    text = _text(sheet)
    if sheet.questions:
        report = _told(look_by(_parser(text, answers), text), sheet)
        raise QuestionsOpen(report.questions, file="" if isinstance(source, bytes) else Path(source).name)
    record = read_by(_parser(text, answers), text)
    return replace(record, report=_told(record.report, sheet))


def _parser(text: bytes, answers: Answers) -> Parser:
    """The reader of the text that was made: that of glued units where most rows have some."""
    said = _as_text(answers)
    opened = glued.FAMILY.open_parser if glued.claims(text[:HEAD], "") else None
    return DelimitedParser(said) if opened is None else opened(said)


def _as_text(answers: Answers) -> Answers:
    """The answers as they hold for the text that is made here."""
    return replace(answers, encoding="utf-8", delimiter="tab", decimal="point", thousands="")


def _text(sheet: Sheet) -> bytes:
    return "".join("\t".join(row) + "\n" for row in sheet.rows).encode("utf-8", "replace")


def _told(report: Understanding, sheet: Sheet) -> Understanding:
    return replace(
        report, questions=(*sheet.questions, *report.questions), notes=(*sheet.notes, *report.notes)
    )


# -- the file and its sheets ----------------------------------------------------------------------------------------


def _sheet(source: bytes | str | Path, answers: Answers) -> Sheet:
    """The sheet that is meant, or the largest with the question which one."""
    data = _bytes(source)
    if data.startswith(OLE):
        raise Unreadable("the workbook is of the old kind (.xls) or locked by a password", try_=SAVE_AS)
    book = Workbook.of(data)
    cells = _cells(data, tuple(book.sheets))
    sizes = {name: len(_number_rows(rows)) for name, rows in cells.items()}
    tables = [name for name, size in sizes.items() if size >= ENOUGH]
    questions: list[Question] = []
    if answers.table is not None and answers.table in cells:
        name = answers.table
    else:
        if not tables:
            tables = [name for name, size in sizes.items() if size]
        if not tables:
            raise Unreadable("no sheet of the workbook has data rows (zero rows of numbers)",
                             try_="look whether the logger recorded")  # fmt: skip
        name = max(tables, key=lambda one: sizes[one])
        if len(tables) > 1 or answers.table is not None:
            questions.append(_which(tables, sizes, answers.table))
    notes = [f'read from sheet "{name}"'] if len(cells) > 1 else []
    others = [one for one in cells if one not in tables and one != name]
    if others:
        notes.append("no table of numbers in sheet " + ", ".join(f'"{one}"' for one in others))
    notes += _twins({one: cells[one] for one in tables})
    at = book.first_column(name)
    rows = _dated(cells[name], book, at, notes)
    rows = _texts_with_numbers(rows, answers, notes, questions)
    rows = _aside(rows, at, notes)
    rows = _below(rows, notes)
    notes += _marked(book, name)
    return Sheet(name, rows, sizes[name], tuple(notes), tuple(questions))


def _which(tables: Sequence[str], sizes: dict[str, int], wanted: str | None) -> Question:
    said = ", ".join(f'"{name}" ({sizes[name]} rows of numbers)' for name in tables)
    text = (
        f'no sheet is called "{wanted}"; there are {said}'
        if wanted
        else f"several sheets hold a table: {said}"
    )
    return Question(code="several-tables", text=text, candidates=tuple(tables), key=KEY + "table")


def _bytes(source: bytes | str | Path) -> bytes:
    if isinstance(source, bytes):
        return source
    try:
        return Path(source).read_bytes()
    except OSError as fault:
        raise Unreadable(f"the file cannot be opened ({fault.strerror})", file=Path(source).name) from fault


def _cells(data: bytes, names: Sequence[str]) -> dict[str, Cells]:
    """Cells of every sheet as text, numbers with all their digits."""
    try:
        import fastexcel
    except ImportError:
        raise Unreadable("a workbook is read with an extra that is not installed", try_=EXTRA) from None
    try:
        book = fastexcel.read_excel(data)
        out = {}
        for name in names:
            texts, numbers = (
                book.load_sheet(
                    name, header_row=None, skip_rows=0, dtypes=kind, schema_sample_rows=1
                ).to_polars()
                for kind in ("string", "float")
            )
            columns = [
                _exact(texts.to_series(place).to_list(), numbers.to_series(place).to_list())
                for place in range(texts.width)
            ]
            out[name] = [list(row) for row in zip(*columns, strict=True)]
    except (fastexcel.FastExcelError, ValueError, MemoryError) as fault:
        said = str(fault).split("\n")[0][:80]
        raise Unreadable(f"the workbook cannot be read ({said})", try_=SAVE_AS) from None
    return out


def _exact(texts: Sequence[str | None], numbers: Sequence[float | None]) -> list[str]:
    """One column: the library's texts round a number, so a number is written anew with all its digits."""
    out = []
    for text, number in zip(texts, numbers, strict=True):
        if text is None:
            out.append("")
        elif number is not None and isfinite(number) and _bare(text):
            out.append(_plain(number))
        else:
            out.append(" ".join(text.replace('"', "″").split()))
    return out


def _bare(text: str) -> bool:
    """True for a number written with digits, point and exponent only."""
    return not text.strip("0123456789+-.eE")


def _plain(number: float) -> str:
    return f"{number:.0f}" if number.is_integer() and abs(number) < 1e15 else repr(number)


def _number_rows(rows: Cells) -> list[int]:
    """Rows in which at least two cells, and half of those filled, are numbers or times."""
    found = []
    for place, row in enumerate(rows):
        filled = [cell for cell in row if cell]
        valued = sum(_valued(cell) for cell in filled)
        if valued >= min(2, max(len(filled), 1)) and valued * 2 >= len(filled):
            found.append(place)
    return found


def _valued(cell: str) -> bool:
    """True for a number, a time, or a number with its unit glued to it."""
    if _bare(cell):
        return is_loose_number(cell)
    return is_loose_number(cell) or DAY.fullmatch(cell) is not None or bool(glued.unit_of(cell))


def _twins(tables: dict[str, Cells]) -> list[str]:
    """Sheets that hold the same cells: a test that was copied."""
    names = list(tables)
    return [
        f'sheets "{one}" and "{other}" hold the same cells'
        for place, one in enumerate(names)
        for other in names[place + 1 :]
        if tables[one] == tables[other]
    ]


def _marked(book: Workbook, name: str) -> list[str]:
    marks = book.marks(name)
    notes = []
    if marks.formulas:
        notes.append(f"{marks.formulas} cells are formulas; the values that were stored with them are read")
    for places, what in (
        (marks.empty, "formulas without a stored value"),
        (marks.faults, "errors, no values"),
    ):
        if places:
            more = f" and {len(places) - SHOWN} more" if len(places) > SHOWN else ""
            notes.append(f"cells {', '.join(places[:SHOWN])}{more} are {what}: missing")
    return notes


# -- times and numbers of a sheet -----------------------------------------------------------------------------------


def _dated(rows: Cells, book: Workbook, at: int, notes: list[str]) -> Cells:
    """Date cells as date and clock, bare times as clocks; as minutes and seconds where a whole column has no hour."""
    columns = [list(column) for column in zip(*rows, strict=True)]
    for place, column in enumerate(columns):
        days = {row: found for row, cell in enumerate(column) if (found := DAY.fullmatch(cell))}
        bare = {
            row: hours for row, found in days.items() if (hours := _hours(found, book.from_1904)) is not None
        }
        lost = bool(bare) and all(hours == 0 for hours in bare.values())
        for row, hours in bare.items():
            found = days[row]
            tail = f"{found[5]}:{found[6]}{found[7] or '.000'}"
            column[row] = tail if lost else f"{hours:02d}:{tail}"
        for row, found in days.items():
            if row not in bare and not found[7]:
                column[row] += ".000"
        if lost:
            notes.append(f"the times of column {letters(at + place)} hold no hour: read as minutes and seconds "
                         "that start again each hour")  # fmt: skip
        if days and len(bare) < len(days):
            notes.append(f"column {letters(at + place)} holds dates of the workbook, counted from "
                         f"{1904 if book.from_1904 else 1900}, "
                         "to the millisecond")  # fmt: skip
    return [list(row) for row in zip(*columns, strict=True)]


def _hours(found: "re.Match[str]", from_1904: bool) -> int | None:
    """Whole hours of a time without a date (its day is that of the workbook's zero), else None."""
    zero = np.datetime64("1904-01-01" if from_1904 else "1899-12-31")
    try:
        days = int((np.datetime64(f"{found[1]}-{found[2]}-{found[3]}") - zero).astype(int))
    except ValueError:
        return None
    return days * 24 + int(found[4]) if 0 <= days < 40 else None


def _texts_with_numbers(rows: Cells, answers: Answers, notes: list[str], questions: list[Question]) -> Cells:
    """Numbers kept as text with a comma, in the form of the number cells; asked when both readings are possible."""
    commas = [cell for row in rows for cell in row if "," in cell and is_loose_number(cell)]
    if not commas:
        return rows
    verdict = judge_marks(commas, comma_free=True, local=True)
    decimal = answers.decimal or (verdict.decimal if verdict.settled else None)
    if decimal is None:
        text = f"cells hold numbers as text: is the comma in {', '.join(commas[:3])} a decimal mark?"
        questions.append(
            Question(code="decimal-mark", text=text, candidates=("point", "comma"), key=KEY + "decimal")
        )
        decimal = "comma"
    form = NumberForm("," if decimal == "comma" else ".", "." if decimal == "comma" else ",")
    notes.append(f"{len(commas)} cells hold numbers as text with a comma: read as a "
                 f"{'decimal mark' if decimal == 'comma' else 'mark between thousands'}")  # fmt: skip

    def mended(cell: str) -> str:
        value = form.read(cell) if "," in cell and is_loose_number(cell) else None
        return cell if value is None or not np.isfinite(value) else repr(value)

    return [[mended(cell) for cell in row] for row in rows]


# -- blocks beside and under the table ------------------------------------------------------------------------------


def _aside(rows: Cells, at: int, notes: list[str]) -> Cells:
    """The rows without small blocks that stand beside the table behind an empty column."""
    width = len(rows[0]) if rows else 0
    filled = [any(row[place] for row in rows) for place in range(width)]
    blocks: list[list[int]] = []
    for place in range(width):
        if filled[place]:
            if place and filled[place - 1]:
                blocks[-1].append(place)
            else:
                blocks.append([place])
    if len(blocks) < 2:
        return rows
    sizes = [sum(any(_valued(row[p]) for p in block) for row in rows) for block in blocks]
    most = max(sizes)
    small = [block for block, size in zip(blocks, sizes, strict=True) if size < SMALL * most]
    for block in small:
        ends = " to ".join(dict.fromkeys((letters(at + block[0]), letters(at + block[-1]))))
        notes.append(f"column {ends} stands beside the table and is not read: {_sample(rows, block)}")
    out = {place for block in small for place in block}
    kept = [place for place in range(width) if place not in out]
    first, last = (next(p for p in order if filled[p]) for order in (kept, kept[::-1]))
    kept = [place for place in kept if first <= place <= last]
    return [[row[place] for place in kept] for row in rows]


def _sample(rows: Cells, block: list[int]) -> str:
    cells = [row[place] for row in rows for place in block if row[place]]
    return ", ".join(cells[:4]) + (" ..." if len(cells) > 4 else "")


def _below(rows: Cells, notes: list[str]) -> Cells:
    """The rows with those of a small block under the table, behind an empty row, made into words."""
    numbers = _number_rows(rows)
    blocks: list[list[int]] = []
    for place, row in enumerate(rows):
        if any(row):
            if place and any(rows[place - 1]):
                blocks[-1].append(place)
            else:
                blocks.append([place])
    among = set(numbers)
    sizes = [sum(place in among for place in block) for block in blocks]
    if not sizes:
        return rows
    table = max(range(len(blocks)), key=lambda k: sizes[k])
    most = sizes[table]
    out = list(rows)
    for k in range(table + 1, len(blocks)):
        few = len(blocks[k]) < UNDER * most or (len(blocks[k]) < UNDER_ROWS <= most)
        if not (few and sizes[k]):
            continue
        ends = f"{blocks[k][0] + 1}" + (f" to {blocks[k][-1] + 1}" if len(blocks[k]) > 1 else "")
        notes.append(f"row {ends} stands under the table behind an empty row and is not read")
        for place in blocks[k]:
            out[place] = ["under the table", *[""] * (len(rows[place]) - 1)]
    return out


FAMILY = Logger(
    title="sheets of a spreadsheet workbook, with the extra xlsx",
    suffixes=(".xlsx", ".xlsm"),
    claims=claims,
    look=look,
    read=read,
    open_parser=None,
)
