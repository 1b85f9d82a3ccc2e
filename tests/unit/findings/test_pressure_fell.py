"""A pressure that falls with all shut is a leak, unless it is warm gas that cools; a leak check is held to the same."""

from pathlib import Path

import pytest

from support.bench_ledger import codes, event, state, walked

BEFORE = state("09:00", p={"AV-A": "30.00 bar(g)"})


def test_a_leak_is_told_with_its_rate(tmp_path: Path) -> None:
    (found,) = walked(tmp_path, BEFORE, state("10:00", p={"AV-A": "29.00 bar(g)"})).notices
    assert found.code == "pressure-fell"
    facts = dict(found.facts)
    assert (facts["p_fall"], facts["time"]) == pytest.approx((1e5, 3600.0))
    assert "16.7 mbar a minute" in found.text


def test_what_a_cooling_room_may_do_is_not_told(tmp_path: Path) -> None:
    """One hour: 0.5 K + 2 K of 280 K takes 31 bar(a) by 0.277 bar; the readings add 2 * 0.05 * sqrt(2/3) = 0.082."""
    assert codes(tmp_path, BEFORE, state("10:00", p={"AV-A": "29.65 bar(g)"})) == []
    assert codes(tmp_path, BEFORE, state("10:00", p={"AV-A": "29.63 bar(g)"})) == ["pressure-fell"]


def test_a_vessel_just_filled_cools(tmp_path: Path) -> None:
    """From 31 to 36 bar(a) the fill heats by at most 1.4/(1 + 0.4 * 31/36) = 1.0413, so 34.57 bar(a) is nothing odd."""
    fill = event("09:30", "fill", vessel="AV-A", p={"AV-A": "35.00 bar(g)"})
    assert codes(tmp_path, BEFORE, fill, state("09:45", p={"AV-A": "33.50 bar(g)"})) == []
    assert codes(tmp_path, BEFORE, fill, state("09:45", p={"AV-A": "33.30 bar(g)"})) == ["pressure-fell"]


def test_once_settled_it_stands(tmp_path: Path) -> None:
    fill = event("09:30", "fill", vessel="AV-A", p={"AV-A": "35.00 bar(g)"})
    settled = state("10:00", p={"AV-A": "34.00 bar(g)"})
    assert codes(tmp_path, BEFORE, fill, settled, state("10:10", p={"AV-A": "33.60 bar(g)"})) == [
        "pressure-fell"
    ]


def test_a_vent_in_between_explains_it(tmp_path: Path) -> None:
    vent = event("09:30", "vent", vessel="AV-A", p={"AV-A": "20.00 bar(g)"})
    assert codes(tmp_path, BEFORE, vent) == []


def test_an_opened_valve_explains_it(tmp_path: Path) -> None:
    opened = event("09:30", "valve", valve="V-A", position="open", p={"AV-A": "25.00 bar(g)"})
    assert codes(tmp_path, BEFORE, opened) == []


def test_a_leak_check(tmp_path: Path) -> None:
    def check(after: str) -> str:
        return event(
            "09:30", "leak-check", vessel="AV-A", p_before="30.00 bar(g)", p_after=after, duration="10 min"
        )

    assert codes(tmp_path, check("29.85 bar(g)")) == []
    assert codes(tmp_path, check("29.80 bar(g)")) == ["pressure-fell"]
