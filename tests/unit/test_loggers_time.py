"""The forms in which loggers write time, each to known seconds (invented logs)."""

import pytest

from headrace.files.loggers.base import Answers
from headrace.files.loggers.delimited import look, read


def log(*stamps: str, head: str = "time", sep: str = ",") -> bytes:
    """A log with these stamps and one noisy channel."""
    lines = [f"{stamp}{sep}{5 + i * 0.125}" for i, stamp in enumerate(stamps)]
    return (f"{head}{sep}p (bar)\n" + "\n".join(lines) + "\n").encode()


@pytest.mark.parametrize(
    ("data", "seconds", "start", "unit"),
    [
        (log("0", "250", "500", head="t (ms)"), [0, 0.25, 0.5], None, "ms"),
        (log("-100", "0", "100", head="Time [us]"), [0, 1e-4, 2e-4], None, "us"),
        (log("0.0", "0.5", "1.0", head="t_s"), [0, 0.5, 1.0], None, "s"),
        (log("10", "20", "30", head="Time_ms"), [0, 0.01, 0.02], None, "ms"),
        (log("0.0", "0.5", "1.0", head="t (min)"), [0, 30, 60], None, "min"),
        (log("1773482400", "1773482401", "1773482403"), [0, 1, 3], "2026-03-14T10:00:00.000Z", "epoch s"),
        (log("1773482400.25", "1773482400.50"), [0, 0.25], "2026-03-14T10:00:00.250Z", "epoch s"),
        (log("1773482400123", "1773482400223"), [0, 0.1], "2026-03-14T10:00:00.123Z", "epoch ms"),
        (log("1773482400123456", "1773482400123457"), [0, 1e-6], "2026-03-14T10:00:00.123Z", "epoch us"),
        (
            log("2026-03-14T10:00:00.5Z", "2026-03-14T10:00:01.75Z"),
            [0, 1.25],
            "2026-03-14T10:00:00.500Z",
            "iso",
        ),
        (log("2026-03-14 23:59:59", "2026-03-15 00:00:01"), [0, 2], "2026-03-14T23:59:59.000", "iso"),
        (
            log("2026-03-14T10:00:00+02:00", "2026-03-14T10:00:01+02:00"),
            [0, 1],
            "2026-03-14T08:00:00.000Z",
            "iso",
        ),
        (
            log("14.03.2026 10:00:00", "14.03.2026 10:00:02"),
            [0, 2],
            "2026-03-14T10:00:00.000",
            "date and clock",
        ),
        (
            log("03/14/2026 10:00:00", "03/14/2026 10:00:02"),
            [0, 2],
            "2026-03-14T10:00:00.000",
            "date and clock",
        ),
        (
            log("14/03/2026 10:00:00", "14/03/2026 10:00:02"),
            [0, 2],
            "2026-03-14T10:00:00.000",
            "date and clock",
        ),
        (
            log("14-Mar-2026 10:00:00", "14-Mar-2026 10:00:02"),
            [0, 2],
            "2026-03-14T10:00:00.000",
            "date and clock",
        ),
        (log("11:59:59 AM", "12:00:00 PM", "12:00:01 PM"), [0, 1, 2], "11:59:59.000", "12-hour clock"),
        (log("12:59:59 pm", "1:00:00 pm", "1:00:01 pm"), [0, 1, 2], "12:59:59.000", "12-hour clock"),
        (log("10:00:00.250", "10:00:01.750"), [0, 1.5], "10:00:00.250", "clock"),
        (log("10:00:00:998", "10:00:00:1000", "10:00:01:002"), [0, 0.002, 0.004], "10:00:00.998", "clock"),
        (log("23:59:59", "00:00:00", "00:00:01"), [0, 1, 2], "23:59:59.000", "clock"),
        (log("59:59.5", "00:00.5", "00:01.5"), [0, 1, 2], None, "mm:ss"),
        (
            log(
                "10:00:00.98",
                "10:00:00.998",
                "10:00:01.7",
                "10:00:01.20",
                "10:00:01.120",
                "10:00:02.5",
                "10:00:02.30",
            ),
            [0, 0.9, 0.909, 0.922, 1.022, 1.907, 1.932],
            "10:00:00.098",
            "clock",
        ),
    ],
)
def test_form_is_read_to_seconds(data: bytes, seconds: list[float], start: str | None, unit: str) -> None:
    record = read(data)
    assert record.time == pytest.approx(seconds, abs=2e-9)
    assert record.start == start
    assert record.report.time.unit == unit


def test_date_and_clock_in_two_columns_and_half_day_in_a_third() -> None:
    data = b"Date,Time,p (bar)\n2026-03-14,10:00:00,1.5\n2026-03-14,10:00:02,1.6\n"
    assert read(data).time.tolist() == [0.0, 2.0]
    assert read(data).report.time.column == "Date + Time"
    spaced = b"3/14/2026 11:59:59 AM 1.5 2.5\n3/14/2026 12:00:01 PM 1.6 2.4\n"
    assert read(spaced).time.tolist() == [0.0, 2.0]


def test_day_order_by_answer() -> None:
    data = log("03/04/2026 23:59:59", "04/04/2026 00:00:01")
    assert read(data, Answers(day_first=True)).time.tolist() == [0.0, 2.0]
    assert read(data, Answers(date_order="mdy")).time.tolist() == [
        0.0,
        30 * 86400 + 86400 - 86400 + 2.0 + 86400 * 0,
    ]


def test_epoch_out_of_our_time_is_asked() -> None:
    codes = [question.code for question in look(log("3056", "3057", "3058")).questions]
    assert codes == ["time-unit"]
    micros = [question.code for question in look(log("1773482400", "1773492400", "1773502400")).questions]
    assert micros == ["time-unit"]


def test_packed_clock_and_padded_milliseconds_by_answer() -> None:
    data = log("95959.0067", "95959.0167", "100000.0067")
    assert read(data, Answers(time_unit="hhmmss", time_fraction="ms")).time == pytest.approx([0, 0.1, 1.0])
    assert read(data, Answers(time_unit="hhmmss", time_fraction="decimal")).time == pytest.approx(
        [0, 0.01, 1.0]
    )


def test_four_digit_padded_fraction_is_asked() -> None:
    stamps = [f"10:00:0{i // 5}.0{i % 5 * 200 + 67:03d}" for i in range(20)]
    assert [question.code for question in look(log(*stamps)).questions] == ["time-fraction"]


def test_second_of_minute_wrap_is_asked_then_unrolled() -> None:
    stamps = [f"{i % 60}.0" for i in range(200)]
    data = log(*stamps, head="t (s)")
    assert [question.code for question in look(data).questions] == ["time-wraps"]
    record = read(data, Answers(time_wrap=60.0))
    assert record.time.tolist() == [float(i) for i in range(200)]
    assert len(record.report.segments) == 1
    assert len(read(data, Answers(time_wrap=0.0)).report.segments) == 4


def test_named_time_that_does_not_rise_is_no_clock() -> None:
    data = b"fill time (s),p (bar)\n3.1,2.0\n2.9,2.1\n3.3,2.0\n2.7,2.1\n"
    assert [question.code for question in look(data).questions] == ["no-time-column"]


def test_rate_counts_rows_of_one_stamp_and_uneven_printed_steps() -> None:
    shared = log(*(str(i // 10) for i in range(50)), head="t (s)")
    assert look(shared).time.rate == pytest.approx(10.0)
    assert look(shared).time.repeats == 45
    printed = log(*(f"{i / 30:.2f}" for i in range(91)), head="t (s)")
    assert look(printed).time.rate == pytest.approx(30.0, rel=1e-3)
    lost = log(*(f"{i / 10:.1f}" for i in range(40) if i % 13 != 5), head="t (s)")
    assert look(lost).time.rate == pytest.approx(10.0)


def test_one_wrap_is_asked_and_a_restart_elsewhere_is_a_segment() -> None:
    stamps = [f"{i % 60}.0" for i in range(40, 80)]
    found = look(log(*stamps, head="t (s)"))
    assert [question.code for question in found.questions] == ["time-wraps"]
    ended = look(log(*[f"{i}.0" for i in (*range(40), *range(20))], head="t (s)"))
    assert (ended.questions, len(ended.segments)) == ((), 2)
