"""Workbooks and binary channel files: every file is made here, so that what was written is known to the last bit."""

import builtins
import datetime
import io
import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import xlsxwriter
from nptdms import ChannelObject, TdmsWriter
from nptdms.types import Uint32

from headrace.errors import InputError
from headrace.files.loggers import look, read
from headrace.files.loggers.base import Answers, QuestionsOpen, Unreadable

START = np.datetime64("2026-03-12T10:00:00.123456")
T = np.arange(100) * 0.01
P = 10 + np.sin(7 * T) / 3


def book(fill: Callable[[Any], None], **options: Any) -> bytes:
    """A workbook in memory."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, **options}) as made:
        fill(made)
    return out.getvalue()


def channels(*segments: list[ChannelObject]) -> bytes:
    """A binary file of these segments in memory."""
    out = io.BytesIO()
    with TdmsWriter(out) as writer:
        for segment in segments:
            writer.write_segment(segment)
    return out.getvalue()


def asked(data: bytes, **answers: Any) -> dict[str, tuple[str, ...]]:
    """Key and candidates of every question that a file leaves open."""
    with pytest.raises(QuestionsOpen) as caught:
        read(data, Answers(**answers))
    return {one.key.removeprefix("logger."): one.candidates for one in caught.value.questions}


def stored(value: float) -> float:
    """The number as the writer of workbooks stores it: 16 digits."""
    return float(f"{value:.16G}")


# -- workbooks ------------------------------------------------------------------------------------------------------


def plain(made: Any, name: str = "run", rows: int = 40) -> None:
    sheet = made.add_worksheet(name)
    sheet.merge_range("B1:D1", "Cold flow 7")
    sheet.write_row(1, 1, ["operator", "AB"])
    sheet.write_row(3, 1, ["t (s)", "p [bar]", "water (degC)"])
    for k in range(rows):
        sheet.write_number(4 + k, 1, k * 0.1)
        sheet.write_number(4 + k, 2, 10 + k / 7)
        sheet.write_formula(4 + k, 3, f"=C{5 + k}", None, 17 + k / 3)


def test_a_table_below_its_titles_bit_by_bit() -> None:
    record = read(book(plain))
    assert record.report.family == "xlsx"
    assert record.report.dialect.names == ("t", "p", "water")
    assert record.report.dialect.units == ("s", "bar", "degC")
    assert record.lines.tolist() == list(range(5, 45))
    assert record.columns["p"].tolist() == [stored(10 + k / 7) for k in range(40)]
    assert record.columns["water"].tolist() == [17 + k / 3 for k in range(40)]
    assert record.time.tolist() == [stored(k * 0.1) for k in range(40)]
    assert any(note.startswith("40 cells are formulas") for note in record.report.notes)


def test_formulas_that_nobody_computed_and_errors_are_missing_and_told() -> None:
    def fill(made: Any) -> None:
        plain(made)
        sheet = made.worksheets()[0]
        sheet.write_formula(10, 2, "=1+1", None, "")
        sheet.write_formula(11, 2, "=1/0", None, "#DIV/0!")

    report = read(book(fill)).report
    assert report.columns[1].missing == 2
    assert "cells C12 are errors, no values: missing" in report.notes


def test_several_sheets_are_asked_unless_one_holds_a_table() -> None:
    def with_notes(made: Any) -> None:
        made.add_worksheet("cover").write(0, 0, "a fine day")
        plain(made)

    report = read(book(with_notes)).report
    assert 'read from sheet "run"' in report.notes
    assert 'no table of numbers in sheet "cover"' in report.notes

    def two(made: Any) -> None:
        plain(made, "W01", 30)
        plain(made, "W02", 20)

    assert asked(book(two)) == {"table": ("W01", "W02")}
    assert asked(book(two), table="W03") == {"table": ("W01", "W02")}
    assert read(book(two), Answers(table="W02")).report.rows == 20

    def same(made: Any) -> None:
        plain(made, "W01")
        plain(made, "copy")

    assert 'sheets "W01" and "copy" hold the same cells' in look(book(same)).notes


@pytest.mark.parametrize("from_1904", [False, True])
def test_days_of_either_calendar(from_1904: bool) -> None:
    def fill(made: Any) -> None:
        sheet, form = made.add_worksheet("run"), made.add_format({"num_format": "yyyy-mm-dd hh:mm:ss.000"})
        sheet.write_row(0, 0, ["stamp", "p (bar)"])
        begin = datetime.datetime(2026, 3, 12, 9, 59, 59)
        for k in range(30):
            sheet.write_datetime(1 + k, 0, begin + datetime.timedelta(milliseconds=125 * k), form)
            sheet.write_number(1 + k, 1, 10 + k / 7)

    record = read(book(fill, date_1904=from_1904))
    assert record.start == "2026-03-12T09:59:59.000"
    assert record.time == pytest.approx([0.125 * k for k in range(30)], abs=1e-9)


@pytest.mark.parametrize("from_1904", [False, True])
def test_times_that_lost_their_hour_run_on_over_it(from_1904: bool) -> None:
    def fill(made: Any) -> None:
        sheet, form = made.add_worksheet("run"), made.add_format({"num_format": "mm:ss.0"})
        sheet.write_row(0, 0, ["time", "p (bar)"])
        for k in range(60):
            sheet.write_number(1 + k, 0, (3590 + 0.5 * k) % 3600 / 86400, form)
            sheet.write_number(1 + k, 1, 10 + k / 7)

    record = read(book(fill, date_1904=from_1904))
    assert record.time == pytest.approx([0.5 * k for k in range(60)], abs=1e-6)
    assert any("hold no hour" in note for note in record.report.notes)


def test_a_clock_keeps_its_hour() -> None:
    def fill(made: Any) -> None:
        sheet, form = made.add_worksheet("run"), made.add_format({"num_format": "hh:mm:ss.000"})
        sheet.write_row(0, 0, ["time", "p (bar)"])
        for k in range(20):
            sheet.write_number(1 + k, 0, (36000 + 0.5 * k) / 86400, form)
            sheet.write_number(1 + k, 1, 10 + k / 7)

    record = read(book(fill))
    assert record.report.time.start == "10:00:00.000"
    assert record.time[-1] == pytest.approx(9.5, abs=1e-6)


def test_hours_run_on_beyond_a_day() -> None:
    def fill(made: Any) -> None:
        sheet, form = made.add_worksheet("run"), made.add_format({"num_format": "[h]:mm:ss.000"})
        sheet.write_row(0, 0, ["time", "p (bar)"])
        for k in range(20):
            sheet.write_number(1 + k, 0, (86390 + k) / 86400, form)
            sheet.write_number(1 + k, 1, 10 + k / 7)

    record = read(book(fill))
    assert record.time == pytest.approx(np.arange(20.0), abs=1e-6)
    assert record.report.time.last == pytest.approx(86409)


def test_blocks_beside_and_under_the_table_are_told_and_not_read() -> None:
    def fill(made: Any) -> None:
        plain(made)
        sheet = made.worksheets()[0]
        sheet.write_row(5, 6, ["mean", 12.5])
        sheet.write_row(6, 6, ["flow", "0.39kg/s"])
        sheet.write_row(46, 1, [4.1, 12.5, 17.0])
        sheet.write_row(47, 1, ["mean", 12.5, 17.0])

    record = read(book(fill))
    assert record.report.rows == 40
    assert record.report.dialect.names == ("t", "p", "water")
    assert dict(record.report.bad_lines).keys() == {47, 48}
    notes = " / ".join(record.report.notes)
    assert "column G to H stands beside the table and is not read: mean, 12.5, flow, 0.39kg/s" in notes
    assert "row 47 to 48 stands under the table" in notes


def test_numbers_kept_as_text_with_a_comma() -> None:
    def fill(texts: list[str]) -> Callable[[Any], None]:
        def inner(made: Any) -> None:
            sheet = made.add_worksheet("run")
            sheet.write_row(0, 0, ["t (s)", "p (bar)"])
            for k, text in enumerate(texts):
                sheet.write_number(1 + k, 0, k * 0.25)
                sheet.write_string(1 + k, 1, text)

        return inner

    record = read(book(fill(["10,5", "10,75", "11,0"])))
    assert record.columns["p"].tolist() == [10.5, 10.75, 11.0]
    assert record.time.tolist() == [0, 0.25, 0.5]
    open_ = book(fill(["1,234", "1,250", "1,275"]))
    assert asked(open_) == {"decimal": ("point", "comma")}
    assert read(open_, Answers(decimal="comma")).columns["p"].tolist() == [1.234, 1.25, 1.275]
    assert read(open_, Answers(decimal="point")).columns["p"].tolist() == [1234, 1250, 1275]


def test_cells_with_their_unit_glued_to_them() -> None:
    def fill(made: Any) -> None:
        sheet = made.add_worksheet("run")
        sheet.write_string(0, 0, "Cold flow 7")
        sheet.write_row(2, 0, ["t (s)", "flow", "p (bar)"])
        for k in range(30):
            sheet.write_number(3 + k, 0, k * 0.25)
            sheet.write_string(3 + k, 1, f"{0.39 + k / 100:.2f}kg/s")
            sheet.write_number(3 + k, 2, 10 + k / 7)

    record = read(book(fill))
    assert record.report.dialect.units == ("s", "kg/s", "bar")
    assert record.columns["flow"].tolist() == [float(f"{0.39 + k / 100:.2f}") for k in range(30)]
    assert record.columns["p"].tolist() == [stored(10 + k / 7) for k in range(30)]
    assert record.lines.tolist() == list(range(4, 34))


def test_twin_columns_and_an_answered_heading() -> None:
    def fill(made: Any) -> None:
        sheet = made.add_worksheet("run")
        sheet.write_row(0, 0, ["t (s)", "p (bar)", "p (bar)", ""])
        sheet.write_row(1, 0, ["time (s)", "a (bar)", "b (bar)", ""])
        for k in range(20):
            sheet.write_row(2 + k, 0, [k * 0.25, 10 + k, 10 + k])

    assert look(book(fill)).dialect.names == ("time", "a", "b")
    assert look(book(fill), Answers(header_line=1)).dialect.names == ("t", "p", "p_2")


def test_old_locked_or_empty_workbooks_are_refused_by_reason() -> None:
    with pytest.raises(Unreadable, match="old kind"):
        read(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    with pytest.raises(Unreadable, match="zero rows"):
        read(book(lambda made: made.add_worksheet("run").write_row(0, 0, ["t (s)", "p (bar)"])))


# -- binary channels ------------------------------------------------------------------------------------------------


def timed(start: float = 0.0) -> list[ChannelObject]:
    return [
        ChannelObject("run", "Time", T + start, properties={"unit_string": "s"}),
        ChannelObject("run", "p (bar)", P + start, properties={"unit_string": "bar", "wf_increment": 0.01}),
        ChannelObject("run", "count", np.arange(100, dtype=np.int16)),
        ChannelObject("run", "never", np.zeros(0)),
    ]


def waves(
    group: str = "run", step: float = 0.001, start: Any = START, **properties: Any
) -> list[ChannelObject]:
    said = {"wf_increment": step, "wf_start_time": start, **properties}
    return [
        ChannelObject(group, "p", P, properties=said),
        ChannelObject(group, "q", np.sqrt(P), properties=said),
    ]


def test_segments_join_bit_by_bit() -> None:
    record = read(channels(timed(0), timed(1), timed(2)))
    assert record.report.family == "tdms"
    assert record.columns["p"].tolist() == np.concatenate([P, P + 1, P + 2]).tolist()
    assert record.time.tolist() == np.concatenate([T, T + 1, T + 2]).tolist()
    assert record.lines.tolist() == list(range(1, 301))
    assert record.report.dialect.units == ("s", "bar", None)
    assert "without a sample: never" in record.report.notes


def test_a_restart_is_a_segment() -> None:
    assert len(read(channels(timed(0), timed(0))).report.segments) == 2


def test_what_is_whole_of_a_cut_file_is_read_and_the_cut_told() -> None:
    whole = channels(timed(0), timed(1))
    for cut in (30, 700, 1500):
        record = read(whole[:-cut])
        size = record.report.rows
        assert 100 <= size < 200
        assert record.columns["p"].tolist() == np.concatenate([P, P + 1])[:size].tolist()
        assert any("cut off" in note for note in record.report.notes)
    with pytest.raises(Unreadable):
        read(whole[:40])


def test_the_stated_step_and_start_are_the_clock() -> None:
    record = read(channels(waves()))
    assert record.time == pytest.approx(np.arange(100) * 0.001, abs=1e-12)
    assert record.start == "2026-03-12T10:00:00.123Z"
    assert record.report.time.rate == 1000


def test_two_steps_and_two_clocks_are_asked() -> None:
    apart = [*waves()[:1], *waves(step=0.01)[1:]]
    assert asked(channels(apart)) == {"sample_rate": ("1000 Hz", "100 Hz")}
    slow = timed()
    slow[1].properties["wf_increment"] = 0.02
    assert asked(channels(slow)) == {"time_column": ("Time", "wf_increment")}
    stated = read(channels(slow), Answers(time_column="wf_increment"))
    assert stated.time == pytest.approx(2 * T, abs=1e-12)
    assert read(channels(slow), Answers(time_column="Time")).time.tolist() == T.tolist()


def test_a_rate_in_a_name_only_is_asked() -> None:
    data = channels([ChannelObject("run 7 2 kHz", "p", P), ChannelObject("run 7 2 kHz", "q", P * P)])
    assert asked(data) == {"sample_rate": ("2000 Hz",)}
    assert read(data, Answers(sample_rate=2000.0)).time[1] == 1 / 2000


def test_groups_are_asked_and_compared() -> None:
    later = waves("b", start=START + np.timedelta64(2500, "ms"))
    data = channels([*waves("a"), *later])
    assert asked(data) == {"table": ("a", "b")}
    notes = read(data, Answers(table="b")).report.notes
    assert 'group "b" starts 2.5 s after "a"' in notes
    assert 'groups "a" and "b" hold the same values' in notes


def test_channels_of_another_length_or_start_are_left_out_and_told() -> None:
    other = {"wf_increment": 0.001, "wf_start_time": START + np.timedelta64(1, "s")}
    data = channels(
        [*waves(), ChannelObject("run", "late", P, properties=other), ChannelObject("run", "r", P[:9])]
    )
    report = read(data).report
    assert report.dialect.names == ("p", "q")
    assert [note.split(":")[0] for note in report.notes if "left out" in note] == [
        "channel r is left out",
        "channel late is left out",
    ]


def test_a_scale_beside_stored_numbers_is_asked() -> None:
    data = channels(waves(unit_string="bar", Scale=0.5, Offset=-1.0)[:1])
    assert asked(data) == {"scaling": ("applied", "stored")}
    still_open = look(data)  # until it is answered no unit is claimed, so that check and look agree
    assert [one.unit for one in still_open.columns] == [None]
    assert any('"bar" is taken for the unit of channel p as scaled' in note for note in still_open.notes)
    applied, as_stored = (read(data, Answers(scaling=word)) for word in ("applied", "stored"))
    assert applied.columns["p"].tolist() == (P * 0.5 - 1).tolist()
    assert applied.report.dialect.units == ("bar",)
    assert as_stored.columns["p"].tolist() == P.tolist()
    assert as_stored.report.dialect.units == (None,)  # the unit is that of the scaled value


def test_the_own_scale_of_the_file_is_applied_and_told() -> None:
    said = {
        "unit_string": "bar", "wf_increment": 0.1, "NI_Scaling_Status": "unscaled", "NI_Number_Of_Scales": 1,
        "NI_Scale[0]_Scale_Type": "Linear", "NI_Scale[0]_Linear_Slope": 0.25,
        "NI_Scale[0]_Linear_Y_Intercept": 1.0, "NI_Scale[0]_Linear_Input_Source": Uint32(0xFFFFFFFF),
    }  # fmt: skip
    raw = np.arange(100, dtype=np.int16)
    data = channels([ChannelObject("run", "p", raw, properties=said)])
    record = read(data)
    assert record.columns["p"].tolist() == (raw * 0.25 + 1).tolist()
    assert "channel p is scaled by the file's own scale" in record.report.notes
    unscaled = read(data, Answers(scaling="stored"))
    assert unscaled.columns["p"].tolist() == raw.tolist()
    assert unscaled.report.dialect.units == (None,)


def test_units_that_contradict_are_not_trusted() -> None:
    data = channels(
        [ChannelObject("run", "p [psi]", P, properties={"unit_string": "bar", "wf_increment": 0.1})]
    )
    report = look(data)
    assert report.dialect.units == (None,)
    assert any('"psi"' in note and '"bar"' in note for note in report.notes)


def test_moments_are_a_clock() -> None:
    moments = np.datetime64("2026-03-12T10:00:00") + (np.arange(50) * 250).astype("timedelta64[ms]")
    data = channels([ChannelObject("run", "when", moments), ChannelObject("run", "p", P[:50])])
    record = read(data)
    assert record.start == "2026-03-12T10:00:00.000"
    assert record.time == pytest.approx(np.arange(50) * 0.25, abs=2e-6)


def test_an_index_file_is_refused() -> None:
    with pytest.raises(Unreadable, match="index"):
        read(b"TDSh" + bytes(100))


# -- both -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("library", "data"), [("fastexcel", book(plain)), ("nptdms", channels(timed()))])
def test_a_missing_extra_is_named(library: str, data: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name.partition(".")[0] == library:
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(Unreadable) as caught:
        read(data)
    assert "headrace[" in str(caught.value)


@pytest.mark.parametrize("data", [book(plain), channels(timed(0), timed(1))], ids=["xlsx", "tdms"])
def test_mangled_containers_are_refused_or_read_as_they_are(data: bytes) -> None:
    """Cut or with bits flipped: never another error than ours; a workbook's sums catch every change of a value."""
    record = read(data)
    true = record.columns["p"].tolist()
    for seed in range(150):
        draw = random.Random(seed)
        bad = bytearray(data)
        if seed % 2:
            bad = bad[: draw.randrange(len(bad))]
        else:
            for _ in range(draw.choice((1, 3, 10))):
                bad[draw.randrange(len(bad) if record.report.family == "xlsx" else 700)] ^= (
                    1 << draw.randrange(8)
                )
        try:
            found = read(bytes(bad))
        except InputError:
            continue
        if record.report.family == "xlsx":
            assert found.columns["p"].tolist() == true
        elif seed % 2 and "p" in found.columns:
            assert found.columns["p"].tolist() == true[: found.report.rows]
