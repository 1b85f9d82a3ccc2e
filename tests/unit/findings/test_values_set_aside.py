"""Values that were left out are told with line, value and neighbours, and as a doubt when they are many."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.evidence import Aside, RunEvidence
from headrace.findings.values_set_aside import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def wild(rows: list[int], *, too_many: int = 0, tag: str = "PM-OX") -> RunEvidence:
    scene = Scene()
    values = {"PM-OX": scene.p_tap, "PM-FUEL": scene.p_fuel}[tag]
    values[rows] = 9e5
    evidence = scene.evidence()
    alone = np.zeros(scene.time.size, dtype=bool)
    alone[rows] = True
    return replace(
        evidence,
        aside={tag: Aside(alone=alone, clipped=np.zeros_like(alone), too_many=too_many, share=0.02)},
    )


def test_clean() -> None:
    assert find(wild([])) == ()
    assert find(Scene().evidence()) == ()


def test_line_value_and_neighbours_are_told() -> None:
    notice = only(find(wild([200])))
    assert notice.severity is Severity.INFO
    assert "line 200, 8.99" in notice.text
    assert "bar(g) between 4.5" in notice.text
    facts = dict(notice.facts)
    assert (facts["values_aside"], facts["first_line"]) == (1, 200)


@pytest.mark.parametrize(
    ("rows", "tag", "severity"),
    [
        ([200, 210, 220], "PM-OX", Severity.INFO),  # so few are told, whatever their share of 600
        ([200, 210, 220, 230], "PM-OX", Severity.DOUBT),
        ([200, 210, 220, 230], "PM-FUEL", Severity.INFO),  # nothing rests on it
    ],
)
def test_many_are_a_doubt(rows: list[int], tag: str, severity: Severity) -> None:
    notice = only(find(wild(rows, tag=tag)))
    assert notice.severity is severity
    assert ("and 1 more" in notice.text) == (len(rows) == 4)


def test_too_many_for_noise_are_a_doubt_and_none_is_left_out() -> None:
    notice = only(find(wild([], too_many=60)))
    assert notice.severity is Severity.DOUBT
    assert "10.0 % of all" in notice.text
    assert "None of them is left out" in notice.text


def test_beside_the_ends_there_is_one_neighbour() -> None:
    assert " and " not in only(find(wild([0]))).text.partition("between")[2]
