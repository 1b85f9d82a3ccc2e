"""Values that stand alone in a raw file are shown when it is looked at, with line and neighbours."""

from pathlib import Path

import numpy as np
import pytest

from headrace.files.loggers import look, wild
from headrace.files.loggers.base import NO_ANSWERS
from headrace.files.loggers.report import Understanding, json_of


def rows(size: int = 3000, spoilt: dict[int, str] | None = None, noise: int = 2) -> list[str]:
    """Lines of an invented record: time, a falling pressure, a counter."""
    dice = np.random.default_rng(4)
    out = ["t (s),p (bar),n"]
    out += [
        f"{k / 100:.2f},{1.69 - k * 1e-4 + noise * 1e-3 * dice.normal():.4f},{k % 7}" for k in range(size)
    ]
    for line, text in (spoilt or {}).items():
        fields = out[line - 1].split(",")
        out[line - 1] = f"{fields[0]},{text},{fields[2]}"
    return out


def seen(tmp_path: Path, lines: list[str]) -> Understanding:
    path = tmp_path / "raw.csv"
    path.write_text("\n".join(lines) + "\n")
    return look(path, NO_ANSWERS)


def test_a_lost_digit_is_shown_with_its_line_and_neighbours(tmp_path: Path) -> None:
    report = seen(tmp_path, rows(spoilt={1502: "690", 2000: ".0"}))
    assert [(one.column, one.line, one.value) for one in report.wild] == [
        ("p", 1502, 690.0),
        ("p", 2000, 0.0),
    ]
    first = report.wild[0]
    assert (first.before, first.after) == pytest.approx((1.54, 1.54), abs=0.01)
    assert report.wild_counts == {"p": 2}
    said = json_of(report)
    assert said["wild"][0]["line"] == 1502
    assert said["wild_counts"] == {"p": 2}


def test_nothing_of_a_clean_file(tmp_path: Path) -> None:
    report = seen(tmp_path, rows())
    assert (report.wild, report.wild_counts) == ((), {})


def test_the_ends_of_a_stretch_hide_nothing_and_show_nothing_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wild, "STRETCH", 1024)
    spoilt = dict.fromkeys(range(2, 3001, 61), "69.0")
    report = seen(tmp_path, rows(spoilt=spoilt))
    assert [one.line for one in report.wild] == sorted(spoilt)
    assert seen(tmp_path, rows()).wild == ()


def test_after_a_restart_the_first_value_is_judged_by_what_follows(tmp_path: Path) -> None:
    lines = rows(600)
    again = rows(600, spoilt={2: "44.0"})
    report = seen(tmp_path, [*lines, *again])
    assert [one.line for one in report.wild] == [603]
    assert report.wild[0].before is None


def test_too_many_are_not_called_wild(tmp_path: Path) -> None:
    report = seen(tmp_path, rows(spoilt=dict.fromkeys(range(10, 3000, 20), "9.0")))
    assert (report.wild, report.wild_counts) == ((), {})
