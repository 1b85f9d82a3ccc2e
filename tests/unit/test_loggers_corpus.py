"""Odd logger files of every point of the dialect list: each is read to the truth, asked about, or refused; none is wrong."""

import math
from collections import Counter

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
