"""A channel that is off by the barometer is found by its zero, or by the flow where it has none."""

from dataclasses import replace

import pytest

from headrace.bench.instruments import Zero
from headrace.findings.gauge_taken_for_absolute import find
from headrace.notices import Severity
from headrace.records.given import HandReading
from support.run_evidence import AMBIENT, BAR, Scene, only


def with_zero(tag: str, before: float, measures: str = "gauge") -> Scene:
    scene = Scene()
    scene.zeros[tag] = Zero(before=before, after=before, u=10.0)
    scene.instruments[tag] = replace(scene.instruments[tag], measures=measures)
    return scene


def test_clean_run_and_a_true_absolute_transmitter() -> None:
    assert find(Scene().evidence()) == ()
    assert find(with_zero("PM-OX", AMBIENT, "abs").evidence()) == ()


def test_absolute_transmitter_entered_as_gauge() -> None:
    notice = only(find(with_zero("PM-OX", 1.012 * BAR).evidence()))
    assert notice.severity is Severity.STOP
    assert notice.code == "gauge-taken-for-absolute"
    assert "1.012 bar(g)" in notice.text
    assert "barometer 1.009 bar(a)" in notice.text
    assert notice.run == "W01"


def test_gauge_transmitter_entered_as_absolute() -> None:
    notice = only(find(with_zero("PM-OX", 0.01 * BAR, "abs").evidence()))
    assert notice.severity is Severity.STOP
    assert "a gauge transmitter is entered as absolute" in notice.text


def test_channel_that_only_watches_is_a_doubt() -> None:
    assert only(find(with_zero("PM-FUEL", AMBIENT).evidence())).severity is Severity.DOUBT


@pytest.mark.parametrize(("share", "found"), [(1.09, 1), (1.11, 0), (0.91, 1), (0.89, 0)])
def test_within_a_tenth_of_the_barometer(share: float, found: int) -> None:
    assert len(find(with_zero("PM-OX", share * AMBIENT).evidence())) == found


@pytest.mark.parametrize(("offset", "word"), [(AMBIENT, "too much"), (-AMBIENT, "too little")])
def test_without_a_zero_the_flow_tells(offset: float, word: str) -> None:
    scene = Scene()
    del scene.zeros["PM-OX"]
    assert find(scene.evidence()) == ()
    scene.p_tap = scene.p_tap + offset
    notice = only(find(scene.evidence()))
    assert notice.severity is Severity.STOP
    assert word in notice.text
    assert dict(notice.facts)["dp_zero"] == pytest.approx(offset, abs=0.01 * BAR)


def test_a_dial_read_before_the_run() -> None:
    scene = Scene(hand=(HandReading(instrument="PM-FUEL", moment="before", value=AMBIENT),))
    assert only(find(scene.evidence())).severity is Severity.STOP
    scene = Scene(hand=(HandReading(instrument="PM-FUEL", moment="start", value=AMBIENT),))
    assert find(scene.evidence()) == ()
