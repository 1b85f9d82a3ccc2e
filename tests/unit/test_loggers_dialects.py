"""Odd dialects of invented logger files: each is read to known numbers, asked about, or refused.

Every case states what a person would read with the file open in an editor.
"""

import json
import math
from dataclasses import dataclass, field

import pytest

from headrace.errors import InputError
from headrace.files.loggers import LOGGERS
from headrace.files.loggers.base import Answers, Dialect, QuestionsOpen, Unreadable
from headrace.files.loggers.delimited import look, read
from headrace.files.loggers.report import json_of

N = 12
TIME = [i / 10 for i in range(N)]
P1 = [5.25 + 0.5 * math.sin(i) for i in range(N)]
P2 = [-1.5 + 0.01 * i for i in range(N)]


def table(*, sep: str = ",", mark: str = ".", end: str = "\n", time: str = "{:.2f}", tail: str = "") -> str:
    """The invented run as text: time, two channels with three digits."""
    rows = zip(TIME, P1, P2, strict=True)
    lines = [
        sep.join((time.format(t), f"{a:.3f}", f"{b:.3f}")).replace(".", mark) + tail + end for t, a, b in rows
    ]
    return "".join(lines)


@dataclass(frozen=True)
class Case:
    """One file and what is in it."""

    data: bytes
    delimiter: str = "comma"
    decimal: str = "point"
    header: int = 1
    encoding: str = "utf-8"
    names: tuple[str, ...] = ("t", "p1", "p2")
    units: tuple[str | None, ...] = ("s", "bar", "bar")
    rows: int = N
    bad: dict[str, int] = field(default_factory=dict)
    answers: Answers = field(default_factory=Answers)


HEAD = "t (s),p1 (bar),p2 (bar)\n"
ROW = "2.00,5.100,-1.200\n"
CASES = {
    "plain": Case((HEAD + table()).encode()),
    "comma and blank": Case((HEAD.replace(",", ", ") + table(sep=", ")).encode()),
    "semicolon, decimal comma": Case(
        (HEAD.replace(",", ";") + table(sep=";", mark=",")).encode(), delimiter="semicolon", decimal="comma"
    ),
    "tab, decimal comma": Case(
        (HEAD.replace(",", "\t") + table(sep="\t", mark=",")).encode(), delimiter="tab", decimal="comma"
    ),
    "single blanks": Case(("t[s] p1[bar] p2[bar]\n" + table(sep=" ")).encode(), delimiter="spaces"),
    "padded columns": Case(
        (
            "   t [s]  p1 [bar]  p2 [bar]\n"
            + "".join(f"{t:8.2f}{a:10.3f}{b:10.3f}\n" for t, a, b in zip(TIME, P1, P2, strict=True))
        ).encode(),
        delimiter="spaces",
    ),
    "pipes": Case((HEAD.replace(",", " | ") + table(sep=" | ")).encode(), delimiter="pipe"),
    "byte order mark": Case(b"\xef\xbb\xbf" + (HEAD + table()).encode(), encoding="utf-8-sig"),
    "utf-16 with mark": Case((HEAD + table()).encode("utf-16"), encoding="utf-16"),
    "utf-16 little end, no mark": Case((HEAD + table()).encode("utf-16-le"), encoding="utf-16-le"),
    "utf-16 big end, no mark": Case((HEAD + table()).encode("utf-16-be"), encoding="utf-16-be"),
    "latin-1 degree": Case(
        ("t (s),p1 (bar),T (°C)\n" + table()).encode("latin-1"),
        encoding="latin-1",
        names=("t", "p1", "T"),
        units=("s", "bar", "°C"),
    ),
    "cp1252 dash": Case(("Run – A\n" + HEAD + table()).encode("cp1252"), encoding="cp1252", header=2),
    "damaged degree": Case(
        ("t (s),p1 (bar),T (\ufffdC)\n" + table()).encode(),
        names=("t", "p1", "T (\ufffdC)"),
        units=("s", "bar", "\ufffdC"),
    ),
    "copyright for a unit": Case(
        ("t (s),p1 (bar),T ©\n" + table()).encode(), names=("t", "p1", "T"), units=("s", "bar", "©")
    ),
    "carriage returns": Case((HEAD + table()).replace("\n", "\r\n").encode()),
    "old carriage returns": Case((HEAD + table()).replace("\n", "\r").encode()),
    "blank after every record": Case((HEAD + table()).replace("\n", "\r\n\r\n").encode(), header=2),
    "no end to the last line": Case((HEAD + table()).rstrip("\n").encode()),
    "trailing separators": Case((HEAD + table(tail=",,")).encode()),
    "trailing separators under as many": Case((HEAD.replace("\n", ",,\n") + table(tail=",,")).encode()),
    "units row under": Case(("t,p1,p2\n(s),(bar),(bar)\n" + table()).encode(), header=2),
    "units row over": Case(("s,bar,bar\nt,p1,p2\n" + table()).encode(), header=2),
    "bare units row": Case(("Campaign A\nt,p1,p2\ns,bar,bar\n\n" + table()).encode(), header=4),
    "long preamble": Case(
        (
            "[HEADER]\nLogger;X1\nOperator;A. Example\nRate [Hz];10\nGain;1;2;4\n"
            + "".join(f"Note {i};free text, {i}\n" for i in range(17))
            + "[DATA]\n"
            + HEAD.replace(",", ";")
            + table(sep=";")
        ).encode(),
        delimiter="semicolon",
        header=24,
    ),
    "padded preamble of a spreadsheet": Case(
        ("Operator,A. Example,\nRate,10,\n,,\n" + HEAD + table()).encode(), header=4
    ),
    "comment sign": Case(("# logger started\n# " + HEAD + table()).encode(), header=2),
    "quoted names": Case(
        ('"t, elapsed (s)","p1 (bar)","p2 (bar)"\n' + table()).encode(), names=("t, elapsed", "p1", "p2")
    ),
    "quoted decimal commas": Case(
        (
            HEAD
            + "".join(
                f'"{t:.2f}","{a:.3f}","{b:.3f}"\n'.replace(".", ",").replace('","', '"§"')
                for t, a, b in zip(TIME, P1, P2, strict=True)
            ).replace("§", ",")
        ).encode(),
        decimal="comma",
    ),
    "duplicate names": Case(("t (s),p (bar),p (bar)\n" + table()).encode(), names=("t", "p", "p_2")),
    "empty name": Case(
        ("t (s),,p2 (bar)\n" + table()).encode(), names=("t", "column 2", "p2"), units=("s", None, "bar")
    ),
    "names given": Case(
        table().encode(),
        header=0,
        names=("t", "p1", "p2"),
        units=(None, None, None),
        answers=Answers(names=("t", "p1", "p2"), time_unit="s"),
    ),
    "exponents with decimal comma": Case(
        (
            "t [s]\tp1 [bar]\tp2 [bar]\n"
            + "".join(
                f"{t:.6E}\t{a:.6E}\t{b:.6E}\n".replace(".", ",") for t, a, b in zip(TIME, P1, P2, strict=True)
            )
        ).encode(),
        delimiter="tab",
        decimal="comma",
    ),
    "heading repeated": Case((HEAD + table() + "\x02\x7f" + HEAD + table()).encode(), rows=2 * N),
    "short line": Case((HEAD + table() + "1.9,5.0\n" + ROW).encode(), rows=N + 1, bad={"too few fields": 1}),
    "merged lines": Case(
        (HEAD + table() + "1.9,5.000,1.92.0,5.000,1.9\n" + ROW).encode(),
        rows=N + 1,
        bad={"too many fields": 1},
    ),
    "corrupt number": Case(
        (HEAD + table() + "1.9,5.0#0,1.1\n" + ROW).encode(), rows=N + 1, bad={"not a number": 1}
    ),
    "nul in a line": Case(
        (HEAD + table() + "1.9,5.0\x000,1.1\n" + ROW).encode(), rows=N + 1, bad={"control bytes": 1}
    ),
    "nul at every end": Case((HEAD + table(tail="\x00")).encode()),
    "message between": Case(
        (HEAD + table() + "buffer flushed\n" + ROW).encode(), rows=N + 1, bad={"text between data": 1}
    ),
    "open quote": Case(
        (HEAD + table() + '1.9,"5.000,1.1\n' + ROW).encode(), rows=N + 1, bad={"unbalanced quotes": 1}
    ),
    "cut last line": Case((HEAD + table() + "1.20,5.0").encode(), bad={"truncated last line": 1}),
    "cut last value": Case((HEAD + table() + "1.20,5.000,1.1").encode(), bad={"truncated last line": 1}),
    "single zero row": Case(
        (HEAD + table() + "0.00,0.000,0.000\n1.20,5.0,1.000\n").encode(), rows=N + 1, bad={"all-zero row": 1}
    ),
    "drop-out": Case(
        (HEAD + table() + "1.20,0.000,0.000\n1.30,5.0,1.000\n").encode(), rows=N + 1, bad={"all-zero row": 1}
    ),
    "lost digits of the time": Case(
        (HEAD + table() + ".3,5.0,1.0\n1.30,5.0,1.000\n").encode(), rows=N + 1, bad={"time out of order": 1}
    ),
    "leap of the time": Case(
        (HEAD + table() + "913.0,5.0,1.0\n1.30,5.0,1.000\n").encode(),
        rows=N + 1,
        bad={"time out of order": 1},
    ),
    "empty record": Case((HEAD + table() + ",,\n" + ROW).encode(), rows=N + 1, bad={"empty record": 1}),
    "no time in a row": Case(
        (HEAD + table() + ",5.0,1.0\n" + ROW).encode(), rows=N + 1, bad={"time missing": 1}
    ),
    "footer": Case(
        (HEAD + table() + "\nSummary\nmean,5.1\n").encode(), bad={"text between data": 1, "too few fields": 1}
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_odd_dialect_is_read_to_known_numbers(name: str) -> None:
    case = CASES[name]
    found = look(case.data, case.answers)
    dialect = found.dialect
    assert found.questions == ()
    assert (dialect.delimiter, dialect.decimal, dialect.encoding) == (
        case.delimiter,
        case.decimal,
        case.encoding,
    )
    assert dialect.header_lines == case.header
    assert dialect.names == case.names
    assert dialect.units == case.units
    assert (found.rows, found.bad_counts) == (case.rows, case.bad)
    record = read(case.data, case.answers)
    columns = list(record.columns.values())
    for column, truth in zip(columns, (TIME, P1, P2), strict=True):
        assert column[:N] == pytest.approx(truth, abs=0.00051)
    assert record.time[:N] == pytest.approx(TIME, abs=1e-9)
    assert found.time.rate == pytest.approx(10.0)
    assert all(item.missing == 0 and item.used for item in found.columns)
    lines = found.lines
    assert lines.total == lines.header + lines.rows + lines.bad + lines.blank + lines.headings


def test_bad_lines_carry_their_numbers() -> None:
    found = look((HEAD + table() + "1.9,5.0\n" + ROW + "2.1,x1#,3\n2.2,5,1\n").encode())
    assert found.bad_lines == ((14, "too few fields"),)
    found = look((HEAD + table() + ROW + "2.10,1x#,3\n2.2,5,1\n").encode())
    assert found.bad_lines == ((15, "not a number"),)
    assert read((HEAD + table() + ROW + "2.10,1x#,3\n2.2,5,1\n").encode()).lines.tolist()[-2:] == [14, 16]


def test_words_in_a_numeric_column_are_missing_and_counted() -> None:
    data = (HEAD + table() + "1.20,STANDBY,-1.3\n1.30,<no data>,-1.3\n1.40,,-1.3\n1.50,NaN,-1.3\n").encode()
    found = look(data)
    assert (found.rows, found.columns[1].missing, found.columns[2].missing) == (N + 4, 4, 0)
    assert found.columns[1].last == pytest.approx(P1[-1], abs=5e-4)
    assert math.isnan(read(data).columns["p1"][-1])


def test_a_column_of_words_stays_unused_until_a_number_comes() -> None:
    lines = [f"{t:.2f},{'INIT' if i < N - 1 else '7.5'},1.{i:02d}" for i, t in enumerate(TIME)]
    found = look((HEAD + "\n".join(lines) + "\n").encode())
    assert (found.columns[1].used, found.columns[1].missing, found.columns[1].last) == (True, N - 1, 7.5)
    text = look((HEAD + "".join(f"{t:.2f},OPEN,1.{i:02d}\n" for i, t in enumerate(TIME))).encode())
    assert not text.columns[1].used


def test_heading_repeated_begins_a_segment_and_is_neither_row_nor_bad() -> None:
    found = look((HEAD + table() + HEAD + table()).encode())
    assert [(s.first_line, s.rows, s.why) for s in found.segments] == [
        (2, N, "start of file"),
        (15, N, "heading repeated"),
    ]
    assert (found.lines.headings, found.lines.bad) == (1, 0)


def test_restart_near_zero_is_a_segment_and_any_other_lasting_fall_a_backward_step() -> None:
    found = look((HEAD + table() + table()).encode())
    assert [s.why for s in found.segments] == ["start of file", "time restarts"]
    assert read((HEAD + table() + table()).encode()).breaks == (N,)
    late = "".join(f"{50 + i / 10:.2f},{5 + i / 7:.3f},1.000\n" for i in range(40))
    again = "".join(f"{52 + i / 10:.2f},{5 + i / 7:.3f},1.000\n" for i in range(40))
    found = look((HEAD + late + again).encode())
    assert (found.time.backward_steps, len(found.segments), found.rows) == (1, 1, 80)


def test_repeats_and_gaps_are_counted() -> None:
    text = HEAD + "".join(
        f"{t:.1f},5.{i}1,1.{i}2\n" for i, t in enumerate([0, 0.1, 0.2, 0.2, 0.2, 0.3, 0.4, 3.4, 3.5])
    )
    time = look(text.encode()).time
    assert (time.repeats, time.gaps, time.backward_steps) == (2, 1, 0)


@pytest.mark.parametrize(
    ("text", "code", "key"),
    [
        ("a (bar);b (bar)\n" + "1,234;5,678\n2,345;6,789\n" * 3, "decimal-mark", "logger.decimal"),
        ("a;b\n" + "1.234;5.678\n2.345;6.789\n" * 3, "decimal-mark", "logger.decimal"),
        ("1,5\n2,5\n3,7\n4,1\n", "decimal-mark", "logger.decimal"),
        ("t (s),p (bar)\n0,1,5,2\n0,2,5,3\n0,3,5,1\n", "decimal-mark", "logger.decimal"),
        ("t (s);p;q\n0.1;5,23;1\n0.2;5,24;1\n", "decimal-mark", "logger.decimal"),
        ("t (s);p (bar)\n0,900;1,5\n1.900;1.600\n", "decimal-mark", "logger.decimal"),
        ("t (s)\tp (bar)\n0.9\t1.5\n1,900\t1,600\n", "decimal-mark", "logger.decimal"),
        ("p (bar),q (bar)\n1.5,2.5\n1.6,2.4\n1.4,2.5\n", "no-time-column", "logger.sample_rate"),
        ("t,p (bar)\n0,2.5\n1,2.4\n2,2.5\n", "time-unit", "logger.time_unit"),
        ("Time,p (bar)\n100,2.5\n200,2.4\n300,2.5\n", "time-unit", "logger.time_unit"),
        ("0.0,2.5\n0.1,2.4\n0.2,2.5\n", "time-unit", "logger.time_unit"),
        (
            "t (s),device time (ms),p (bar)\n0.0,100,2.5\n0.1,203,2.4\n0.2,301,2.5\n",
            "two-clocks",
            "logger.time_column",
        ),
        (
            "when,p (bar)\n03/04/2026 10:00:00,2.5\n03/04/2026 10:00:01,2.6\n",
            "date-order",
            "logger.date_order",
        ),
        ("clock,p (bar)\n10:15,2.5\n10:16,2.6\n10:17,2.7\n", "time-unit", "logger.time_unit"),
        ("t (s),p (bar),q (bar)\n0.0,1.5\n0.1,1.6\n0.2,1.5\n", "names-do-not-fit", "logger.names"),
        ("t (s),p (bar)\n0.0,1.5,7.1\n0.1,1.6,7.2\n0.2,1.5,7.4\n", "names-do-not-fit", "logger.names"),
    ],
)
def test_two_readings_are_asked_and_never_read(text: str, code: str, key: str) -> None:
    found = look(text.encode())
    assert code in [question.code for question in found.questions]
    assert key in [question.key for question in found.questions]
    with pytest.raises(QuestionsOpen, match=key):
        read(text.encode())


@pytest.mark.parametrize("text", ["t,p,T\n(s),(bar),(degC)\n", "t,T,p\ns,degC,bar\n", "s,bar,degC\nt,p,T\n"])
def test_letters_that_are_units_too_are_names_beside_a_row_of_units(text: str) -> None:
    found = look((text + "0.0,2.5,19\n0.1,2.4,19\n0.2,2.5,19\n").encode())
    assert {column.name: column.unit for column in found.columns} == {"t": "s", "p": "bar", "T": "degC"}
    assert not found.questions


def test_answers_settle_the_mark() -> None:
    data = b"a;b\n1,234;5,678\n2,345;6,789\n"
    rate = {"sample_rate": 10.0}
    assert read(data, Answers(decimal="comma", **rate)).columns["a"].tolist() == [1.234, 2.345]
    assert read(data, Answers(decimal="point", **rate)).columns["a"].tolist() == [1234.0, 2345.0]
    mixed = b"t (s);p (bar)\n0,7;1,3\n0,8;1,4\n0,9;1,5\n0,95;1.600\n1,0;1,6\n"
    with pytest.raises(QuestionsOpen, match=r"logger\.thousands"):
        read(mixed, Answers(decimal="comma"))
    assert read(mixed, Answers(decimal="comma", thousands="")).columns["p"].tolist() == [1.3, 1.4, 1.5, 1.6]
    assert read(mixed, Answers(decimal="comma", thousands="point")).columns["p"].tolist()[3] == 1600.0
    pairs = b"t (s),p (bar)\n0,1,5,2\n0,2,5,3\n0,3,5,1\n"
    assert read(pairs, Answers(decimal="comma")).columns["p"].tolist() == [5.2, 5.3, 5.1]


@pytest.mark.parametrize(
    ("rows", "decimal", "value"),
    [
        ("0,000;1,234;5,678", "comma", 1.234),
        ("1,50;1,234;5,678", "comma", 1.234),
        ("1.234,5;1,234;5,6", "comma", 1.234),
        ("1,234.5;1,234;5.6", "point", 1234.0),
        ("1,234,567;1,234;5,678", "point", 1234.0),
    ],
)
def test_one_number_can_settle_the_mark(rows: str, decimal: str, value: float) -> None:
    found = look(f"a;b;c\n{rows}\n{rows}\n{rows}\n".encode(), Answers(sample_rate=1.0))
    assert (found.questions, found.dialect.decimal, found.columns[1].first) == ((), decimal, value)


def test_a_rate_gives_the_time_and_damaged_records_still_take_theirs() -> None:
    data = b"p (bar),q (bar)\n1.5,2.5\n1.6,2.4\n1.6\n1.4,2.5\n"
    record = read(data, Answers(sample_rate=50.0))
    assert record.time.tolist() == [0.0, 0.02, 0.06]
    assert record.report.time.rate == 50.0


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b"\n \n\n", "blanks"),
        (b"t (s),p (bar)\n", "zero rows"),
        (b"Operator,A. Example\nt (s),p (bar)\n\n", "zero rows"),
        (b"version https://example.org/spec/v1\noid sha256:4d7a2146\nsize 12345\n", "pointer"),
        (bytes(range(256)) * 8, "binary"),
        (b"PK\x03\x04" + bytes(100), "workbook"),
        (b"TDSm" + bytes(100), "TDMS"),
        (b"<!DOCTYPE html><html><body>1,2</body></html>", "web page"),
        (b"P1: 12.5 | P2: 3.1\nP1: 12.6 | P2: 3.0\nP1: 12.7 | P2: 3.0\n", "name: value"),
        (b"The run was fine.\nNothing leaked, we think.\n", "zero rows"),
    ],
)
def test_what_is_no_table_is_refused_with_the_reason(data: bytes, reason: str) -> None:
    with pytest.raises(Unreadable, match=reason) as caught:
        look(data)
    assert isinstance(caught.value, InputError)
    assert reason in caught.value.reason


def test_wrong_answers_name_the_key() -> None:
    with pytest.raises(InputError, match=r"logger\.delimiter"):
        Answers(delimiter="!")
    with pytest.raises(InputError, match=r"logger\.sample_rate"):
        Answers(sample_rate=0.0)
    assert Answers(delimiter=";").delimiter == "semicolon"
    found = look((HEAD + table()).encode(), Answers(time_column="clock"))
    assert [question.code for question in found.questions] == ["time-column"]


def test_header_line_and_column_number_are_obeyed() -> None:
    data = ("a,b,c\n" + HEAD + table()).encode()
    assert look(data, Answers(header_line=1, time_column=1, time_unit="s")).dialect.names == ("a", "b", "c")
    nothing = look(data, Answers(header_line=0, time_column=1, time_unit="s")).dialect.names
    assert nothing == ("column 1", "column 2", "column 3")


def test_json_has_the_agreed_keys_and_no_nan() -> None:
    found = json_of(look((HEAD + table() + "1.2,STANDBY,5,7\n").encode()))
    text = json.dumps(found, allow_nan=False)
    assert set(json.loads(text)) == {
        "family",
        "rows",
        "segments",
        "bad_lines",
        "bad_counts",
        "aside_lines",
        "aside_counts",
        "wild",
        "wild_counts",
        "lines",
        "dropped",
        "above",
        "columns",
        "time",
        "dialect",
        "questions",
    }
    assert set(found["columns"][0]) == {"name", "unit", "first", "last", "min", "max", "missing", "used"}
    assert set(found["time"]) == {
        "column",
        "unit",
        "first",
        "last",
        "rate",
        "gaps",
        "repeats",
        "backward_steps",
    }
    assert found["dialect"] == {
        "encoding": "utf-8",
        "delimiter": "comma",
        "decimal": "point",
        "thousands": None,
        "header_lines": 1,
    }
    assert found["bad_lines"] == [{"line": 14, "reason": "too many fields"}]
    column = found["columns"][1]
    assert (column["min"], column["max"]) == (
        pytest.approx(min(P1), abs=5e-4),
        pytest.approx(max(P1), abs=5e-4),
    )


def test_dialect_survives_json() -> None:
    dialect = look((HEAD + table()).encode()).dialect
    assert Dialect.from_dict(json.loads(json.dumps(dialect.as_dict()))) == dialect


def test_registry_reads_by_kind() -> None:
    assert LOGGERS["delimited"].look((HEAD + table()).encode(), Answers()).rows == N


def test_given_names_settle_a_heading_that_does_not_fit() -> None:
    data = b"Time (s) Pressure (bar)\n0.0 1.5\n0.1 1.6\n0.2 1.5\n"
    record = read(data, Answers(names=("Time (s)", "Pressure (bar)")))
    assert record.report.dialect.units == ("s", "bar")
    assert record.time.tolist() == [0.0, 0.1, 0.2]


def test_one_column_with_decimal_comma_by_answer() -> None:
    record = read(b"p (bar)\n1,5\n2,05\n2,5\n", Answers(decimal="comma", sample_rate=10.0))
    assert record.columns["p"].tolist() == [1.5, 2.05, 2.5]


def test_a_given_rate_outranks_a_clock_and_says_so() -> None:
    found = look((HEAD + table()).encode(), Answers(sample_rate=20.0))
    assert found.time.rate == 20.0
    assert any("not used as the clock" in note for note in found.notes)


def test_a_last_line_without_end_that_may_be_cut_is_told() -> None:
    found = look(b"t (s),n (counts)\n0.0,115\n0.1,116\n0.2,11")
    assert (found.rows, found.bad_counts) == (3, {})
    assert any("may have lost digits" in note for note in found.notes)


def test_the_leaping_line_itself_is_the_bad_one() -> None:
    found = look((HEAD + table() + "913.0,5.0,1.0\n1.30,5.0,1.000\n").encode())
    assert found.bad_lines == ((14, "time out of order"),)
    assert found.time.last == pytest.approx(1.3)


def test_drop_out_after_a_refused_line_is_found() -> None:
    data = (HEAD + table() + "noise\n1.20,0.000,0.000\n1.30,5.0,1.000\n").encode()
    assert look(data).bad_counts == {"text between data": 1, "all-zero row": 1}
    counts = "t (s),a (counts),b (counts)\n0.0,1,1\n0.1,2,1\n0.2,0,0\n0.3,1,2\n"
    assert look(counts.encode()).rows == 4
