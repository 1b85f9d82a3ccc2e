"""Odd invented logger files: each is read to the truth, asked about, or refused with the reason; none is wrong.

`python tests/unit/test_loggers_corpus.py` prints the table of docs/loggers.md.
"""

import re
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from headrace.files.loggers import look, read
from headrace.files.loggers.base import NO_ANSWERS, Answers, QuestionsOpen, Unreadable
from support.odd_logs import ODD, Odd


def outcome(case: Odd, answers: Answers = NO_ANSWERS) -> str:
    """ "read", "ask: code, ..." or "refuse: reason"."""
    try:
        read(case.bytes, answers)
    except QuestionsOpen as asked:
        return "ask: " + ", ".join(question.code for question in asked.questions)
    except Unreadable as refused:
        return f"refuse: {refused.reason}"
    return "read"


def is_the_truth(case: Odd, answers: Answers = NO_ANSWERS) -> None:
    """Every number, unit, refused line and segment is as written beside the file."""
    record = read(case.bytes, answers)
    report = record.report
    assert report.bad_counts == case.bad
    assert len(report.segments) == case.segments
    if case.time is not None:
        assert record.time == pytest.approx(np.asarray(case.time) - case.time[0], abs=1e-6)
    for name, truth in case.columns.items():
        np.testing.assert_array_equal(record.columns[name], np.asarray(truth, dtype=float), err_msg=name)
    for name, unit in case.units.items():
        assert report.dialect.units[report.dialect.names.index(name)] == unit, name
    lines = report.lines
    assert lines.total == lines.header + lines.rows + lines.bad + lines.blank + lines.headings + lines.aside


@pytest.mark.parametrize("name", ODD)
def test_odd_file_ends_as_it_should(name: str) -> None:
    case = ODD[name]
    ended = outcome(case)
    assert ended.startswith(case.want), ended
    assert case.why in ended
    if case.want == "read":
        is_the_truth(case)
    elif case.answers is not None:
        is_the_truth(case, case.answers)
    if case.says:
        assert case.says in " ".join([*look(case.bytes).notes, *(q.text for q in look(case.bytes).questions)])
    for column in case.dropped:
        assert next(one for one in look(case.bytes).columns if one.name == column).used is False


def shares() -> Counter[str]:
    """How the files end, by the first word."""
    return Counter(outcome(case).split(":")[0] for case in ODD.values())


def test_every_point_has_its_file_and_most_are_read_without_a_question() -> None:
    assert {case.point for case in ODD.values()} == set(range(1, 25))
    assert len(ODD) >= 60
    ended = shares()
    assert ended["read"] / len(ODD) >= 0.6
    assert set(ended) == {"read", "ask", "refuse"}


def test_the_page_tells_the_share_that_is_measured() -> None:
    page = (Path(__file__).resolve().parents[2] / "docs" / "loggers.md").read_text(encoding="utf-8")
    ended = shares()
    told = re.search(
        r"Of (\d+) odd .*? (\d+) are read .*? (\d+) are asked .*?(\d+) are refused", page, re.DOTALL
    )
    assert told is not None
    assert [int(number) for number in told.groups()] == [
        len(ODD),
        ended["read"],
        ended["ask"],
        ended["refuse"],
    ]


if __name__ == "__main__":
    for title, odd in ODD.items():
        print(f"{odd.point:3d}  {title:36s} {outcome(odd)}")
    print(len(ODD), dict(shares()))
