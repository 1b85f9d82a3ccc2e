"""The report of what the demo lacks: catches, film, joined files, meters calibrated in place, parts of a feed."""

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from headrace import app
from headrace.figures import style
from headrace.figures.panel import Panel, extent, spelled, ticks
from headrace.jobs.reduce import reduce
from headrace.records.given import Campaign
from support import hand_made as made
from unit import (
    test_bucket,
    test_calibrated_in_place,
    test_feed_parts,
    test_filmed,
    test_joined,
    test_report,
    test_zero_under_pressure,
)

SVG = "{http://www.w3.org/2000/svg}"
HTML = "{http://www.w3.org/1999/xhtml}"


def page(campaign: Campaign) -> ET.Element:
    """Sound, and every word of every drawing inside it."""
    root = test_report.sound(test_report.made(campaign))
    inside(root)
    return root


def inside(root: ET.Element) -> None:
    for drawing in root.iter(f"{SVG}svg"):
        if drawing.get("class") == "ruler":
            continue
        _, _, width, height = (float(one) for one in drawing.get("viewBox").split())
        for text in drawing.iter(f"{SVG}text"):
            x, y = float(text.get("x", 0)), float(text.get("y", 0))
            for word in text.get("transform", "").replace(")", "(").split("("):
                if len(word.split()) == 2:
                    x, y = (float(one) for one in word.split())
            assert -1 <= x <= width
            assert 0 <= y <= height, (text.text, y, height)


def told(root: ET.Element, caption: str) -> list[list[str]]:
    """Rows of the table with that caption."""
    for one in root.iter(f"{HTML}table"):
        if test_report.words(one.find(f"{HTML}caption")).startswith(caption):
            return [[test_report.words(cell) for cell in row] for row in one.iter(f"{HTML}tr")]
    raise AssertionError(caption)


def facts(root: ET.Element) -> dict[str, str]:
    """What is said of the runs and circuits, by its name."""
    return {
        test_report.words(one[0]): test_report.words(one[1])
        for one in root.iter(f"{HTML}div")
        if len(one) == 2 and one[0].tag == f"{HTML}dt"
    }


def from_folder(home: Path) -> ET.Element:
    root = test_report.sound(app.report(home).path.read_text(encoding="utf-8"))
    inside(root)
    return root


def test_catches_by_bucket(tmp_path: Path) -> None:
    root = from_folder(test_bucket.folder(tmp_path, test_bucket.with_file(), test_bucket.TABLE))
    rows = told(root, "Catches by bucket")
    assert rows[0][4] == "PG-FU showed"
    assert len(rows) == 6
    assert [row[1] for row in rows[1:]] == ["1", "1", "2", "2", "2"]
    assert rows[1][2:5] == ["18.46 kg", "30.20 s", "4.999 bar(g)"]
    assert "Nothing was logged" in test_report.words(root)


def test_gauges_on_film(tmp_path: Path) -> None:
    text = test_filmed.metered('parallax = "0.1 bar"\nclock = "0.2 s"\ndivision = "0.2 bar"')
    root = from_folder(test_filmed.folder(tmp_path, text))
    assert facts(root)["Read off film"].startswith(
        "PG-TAP: parallax up to 0.100 bar, frames read to within 0.0500 bar"
    )


def test_joined_files_stand_in_the_origin(tmp_path: Path) -> None:
    home = test_joined.folder(tmp_path)
    page = from_folder(home)
    root = next(one for one in page.iter(f"{HTML}article") if one.get("aria-labelledby") == "run-W07")
    used = {row[0]: row[2] for row in told(root, "Origin")}
    assert used[test_joined.SLOW].startswith("readings from lines ")
    readings = told(root, "Readings")
    assert all("; slow.txt " in row[readings[0].index("lines of the file")] for row in readings[1:])


def test_a_meter_calibrated_in_place() -> None:
    campaign = made.campaign(test_calibrated_in_place.calibrating("W01", 0.02), made.metered("W02", 2.31e-4))
    root = page(campaign)
    rows = told(root, "Meters calibrated in place")
    place = test_calibrated_in_place.place_of(campaign)
    whole = 2 * place.factor * sum((one.weight * one.u) ** 2 for one in place.parts) ** 0.5
    assert rows[1][0] == "FV-A"
    assert float(rows[1][1].split(" ±")[0]) == pytest.approx(1.02, abs=whole)
    assert whole <= float(rows[1][1].split("±")[1]) <= 1.3 * whole
    assert rows[1][2] == "W01"
    assert facts(root)["Calibrates"].startswith("meter FV-A in place")
    assert "calibrated in place" not in test_report.words(page(made.campaign(made.metered("W02", 2.31e-4))))


def test_parts_of_a_feed() -> None:
    engine = test_feed_parts.with_feed(parts=(("VALVE", "TWIN"), ("LINE",)))
    root = page(test_feed_parts.campaign(engine=engine))
    assert facts(root)["Part of a feed"] in (
        "valve, between taps T-UP and T-MID",
        "line, between taps T-MID and T-OX",
    )
    assert "water runs of VALVE beside TWIN, then LINE" in test_report.words(root)


def test_zeros_under_line_pressure() -> None:
    run = test_zero_under_pressure.run_of()
    root = page(made.campaign(run, bench=test_zero_under_pressure.bench(logged=True)))
    rows = told(root, "Channels and their zeros")
    assert rows[0][5] == "zero under pressure"
    cell = next(row for row in rows if row[0] == "DP-A")
    assert cell[3].startswith("0.0015")
    assert cell[5].startswith("0.0175")
    assert facts(root)["Zero under pressure"].startswith("1.40 to 2.80 s")


def test_alone_together_and_crossed_over() -> None:
    """Both tables say what `reduce` found, in per cent."""
    ox = [made.metered(name, 2.31e-4, line=line) for name, line in (("W1", "A"), ("W2", "B"))]
    fuel = [
        made.metered(name, 1.3e-4, circuit="fuel", tap="PM-FUEL", line=line)
        for name, line in (("W3", "A"), ("W4", "B"))
    ]
    campaign = made.campaign(*ox, *fuel)
    (one,) = reduce(campaign).crossovers
    rows = told(page(campaign), "Crossover")
    assert rows[1][:2] == ["ox and fuel", "A over B"]
    assert rows[1][3].startswith(f"{one.circuit_ratio.value:.2f}"[:3])
    assert rows[1][5] == "W1, W2, W3, W4"


def test_stops_stand_over_the_set_points() -> None:
    leaking = replace(made.metered("W1", 2.31e-4), excluded=None)
    root = page(made.campaign(leaking, engine=made.engine()))
    assert "No set points." in test_report.words(root)


def test_a_panel_puts_things_where_they_belong() -> None:
    """Scales along both sides, in points of the drawing; the same when the figure is written at another resolution."""
    with style.settings():
        figure = style.blank(width=100.0, height=50.0)
        panel = Panel(
            figure=figure, left=20.0, bottom=10.0, width=60.0, height=30.0, x=(0.0, 10.0), y=(0.0, 5.0)
        )
        panel.line([0.0, 10.0], [0.0, 5.0], color=style.INK)
        panel.words("here", (20.0, 10.0))
        text = style.svg(figure)
    point = 72 / 25.4
    path = next(
        one for one in ET.fromstring(text).iter(f"{SVG}path") if "L" in one.get("d") and one.get("clip-path")
    )
    numbers = [float(one) for one in path.get("d").replace("M", "").replace("L", "").split()]
    assert numbers == pytest.approx([20 * point, 40 * point, 80 * point, 10 * point], abs=1e-3)
    words = next(one for one in ET.fromstring(text).iter(f"{SVG}text") if one.text == "here")
    place = words.get("transform") or f"translate({words.get('x')} {words.get('y')})"
    assert f"{20 * point:.3f}"[:5] in place
    logarithmic = replace(panel, x=(1.0, 100.0), logarithmic=True)
    assert float(logarithmic.across(10.0)) == pytest.approx(50.0)


def test_ticks_are_round_and_inside() -> None:
    assert ticks(-0.9, 1.1, most=5) == [-0.5, 0.0, 0.5, 1.0]
    assert ticks(234.1, 236.4) == [235.0, 236.0]
    assert spelled([0.0, 2.5]) == ["0.0", "2.5"]
    assert ticks(3.0, 3.0) == [3.0]
    assert extent("WWWW", 7.0) > 2 * extent("iiii", 7.0) > 0
