"""The campaign report: valid, self-contained, the same bytes again; no doubt dropped; no engine, no run, no matter."""

import itertools
import re
import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import html5lib
import numpy as np
import pytest

from headrace import app
from headrace.errors import NoAnswer
from headrace.figures import residuals, style
from headrace.figures.inline import inline
from headrace.jobs import balance
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.slices import extremes
from headrace.notices import Notice, Severity
from headrace.paper.report import content as reporting
from headrace.paper.report import evidence, page, parts
from headrace.records.given import Campaign, Limits
from support import hand_made

RUNS = ("W01", "W05", "W06", "W12", "W13", "W14", "W15")
"""Of the demo: plain, and every one that was left out; weighed; by hand."""
AREA = 2.3e-4
HTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def folder(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with runs of every kind and few draws."""
    where = tmp_path_factory.mktemp("report") / "campaign"
    gone = {path.name for path in (demo_folder / "runs").iterdir()} - {*RUNS, "W03"}
    shutil.copytree(demo_folder, where, ignore=lambda _, names: gone & set(names))
    (where / "ledger.toml").unlink(missing_ok=True)
    with (where / "campaign.toml").open("a", encoding="utf-8") as file:
        file.write("draws = 4000\n")
    return where


@pytest.fixture(scope="module")
def done(folder: Path) -> tuple[app.Reduction, app.Balanced, app.Reported]:
    """It, reduced, balanced, reported."""
    reduction = app.reduce(folder)
    balanced = app.setpoints_of(reduction)
    return reduction, balanced, app.print_report(folder, reduction, balanced)


@pytest.fixture(scope="module")
def text(done: tuple[app.Reduction, app.Balanced, app.Reported]) -> str:
    """The page."""
    return done[2].path.read_text(encoding="utf-8")


def made(campaign: Campaign) -> str:
    """The page of a campaign made by hand, as the commands would make it."""
    reduced = reduce(campaign)
    answer = None
    if campaign.engine is not None:
        try:
            answer = balance.setpoints(campaign, reduced, p_chamber=20e5, m_dot=None, of_ratio=2.2)
        except NoAnswer as fault:
            answer = app._without(reduced, fault)
    return page.make(reporting.content(campaign, reduced, answer, version="0")).decode()


def tree(text: str) -> ET.Element:
    """Parsed by the letter of the standard."""
    parsed = html5lib.HTMLParser(strict=True).parse(text)
    assert parsed is not None
    return parsed


def words(element: ET.Element) -> str:
    """All text in it, blanks made one."""
    return " ".join("".join(element.itertext()).split())


def sound(text: str) -> ET.Element:
    """Everything that holds for every report; the parsed page."""
    root = tree(text)
    assert root.get("lang") == "en"
    ids = Counter(one.get("id") for one in root.iter() if one.get("id") is not None)
    assert [name for name, count in ids.items() if count > 1] == []
    assert not list(root.iter(f"{HTML}script"))
    for one in root.iter():
        for key, value in one.attrib.items():
            name = key.rpartition("}")[2]
            if name in ("href", "src"):
                assert value.startswith("#"), value
                assert value[1:] in ids, value
            assert not name.startswith("on")
    for url in re.findall(r"url\(([^)]{0,40})", text):
        assert url.startswith(("#", "data:font/otf;base64,")), url
    assert "@import" not in text
    levels = [int(one.tag[-1]) for one in root.iter() if re.fullmatch(rf"{HTML}h[1-6]", one.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    for table in root.iter(f"{HTML}table"):
        assert words(table.find(f"{HTML}caption"))
        assert all(one.get("scope") in ("col", "row") for one in table.iter(f"{HTML}th"))
        wide = len(list(table.find(f"{HTML}thead/{HTML}tr")))
        assert all(len(list(row)) == wide for row in table.iter(f"{HTML}tr"))
    tables = {one.get("id") for one in root.iter(f"{HTML}table")}
    for figure in root.iter(f"{HTML}figure"):
        assert words(figure.find(f"{HTML}figcaption"))
        assert figure.get("aria-details") in tables
        drawn = figure.find(f".//{SVG}svg")
        assert drawn.get("role") == "img"
        named = drawn.get("aria-labelledby").split()
        told = {one.get("id"): words(one) for one in drawn if one.tag in (f"{SVG}title", f"{SVG}desc")}
        assert all(told[name] for name in named)
    return root


def test_it_is_valid_and_needs_nothing_else(text: str) -> None:
    root = sound(text)
    titles = [words(one) for one in root.iter(f"{HTML}h2")]
    assert titles == [
        "What stands", "Bench and day", "Runs", "Circuits", "Engine", "Set points", "Doubts in full",
        "Sources of error", "Provenance",
    ]  # fmt: skip
    assert len(text) < 6e6 / 2


def test_no_notice_is_dropped(text: str, done: tuple[app.Reduction, app.Balanced, app.Reported]) -> None:
    """Each text in the full list, once, and once more with the run that it was found in; each name in the band."""
    reduction, balanced, reported = done
    root = tree(text)
    full = next(one for one in root.iter(f"{HTML}section") if one.get("aria-labelledby") == "doubts")
    listed = [words(one) for one in full.iter(f"{HTML}li")]
    every = dict.fromkeys((*balanced.notices, *reduction.notices, *reported.notices))
    assert len(listed) == len(every) > 10
    for notice in every:
        assert sum(" ".join(notice.text.split()) in one for one in listed) >= 1, notice.text
        assert any(notice.try_ in one and notice.limit in one for one in listed)
        if notice.run is not None:
            runs = [
                one
                for one in root.iter(f"{HTML}article")
                if one.get("aria-labelledby") == f"run-{notice.run}"
            ]
            assert len(runs) == 1
            assert " ".join(notice.text.split()) in words(runs[0])
    band = next(one for one in root.iter(f"{HTML}section") if one.get("class") == "standing")
    standing = [one for one in every if one.run not in ("W05", "W06", "W12", "W13")]
    for word in ("doubt", "remark"):
        number = sum(one.severity.value == {"doubt": "doubt", "remark": "info"}[word] for one in standing)
        assert f"{number} {word}" in words(band)
    assert "details" not in {one.tag.removeprefix(HTML) for one in band.iter()}


def test_the_same_campaign_gives_the_same_bytes(folder: Path, text: str) -> None:
    assert app.report(folder).path.read_text(encoding="utf-8") == text


def test_every_run_is_shown_those_left_out_with_their_reason(
    text: str, done: tuple[app.Reduction, app.Balanced, app.Reported]
) -> None:
    root = tree(text)
    campaign = done[0].campaign
    for key, given in campaign.runs.items():
        run = next(one for one in root.iter(f"{HTML}article") if one.get("aria-labelledby") == f"run-{key}")
        told = words(run)
        assert (", left out" in told) == (given.excluded is not None)
        assert given.excluded is None or " ".join(given.excluded.split()) in told
        for file, digest in campaign.inputs.items():
            assert not file.startswith(f"runs/{key}/") or (file in told and digest in told)
        result = done[0].reduced.runs[key]
        for reading in result.readings:
            low, high = reading.origin.lines
            assert f"{low} to {high}" in told or "whole file" in told
        drawn = {one.get("id") for one in run.iter(f"{HTML}figure")}
        assert (f"traces-{key}" in drawn) == (result.channels is not None)
        assert f"residuals-{key}" in drawn


def test_findings_with_a_place_in_time_are_marked_on_their_run(text: str) -> None:
    """The letter stands in the drawing and beside the finding; it lies where the text says."""
    for run, code in (("W12", "gas breakthrough"), ("W13", "clock of the logger: clock jump")):
        root = tree(text)
        article = next(
            one for one in root.iter(f"{HTML}article") if one.get("aria-labelledby") == f"run-{run}"
        )
        found = [one for one in article.iter(f"{HTML}li") if code in words(one)]
        letter = words(next(one for one in found[0].iter(f"{HTML}span") if one.get("class") == "letter"))
        drawing = next(one for one in article.iter(f"{HTML}figure") if one.get("id") == f"traces-{run}")
        assert letter in {words(one) for one in drawing.iter(f"{SVG}text")}


def test_numbers_of_the_set_points_are_those_of_the_answer(
    text: str, done: tuple[app.Reduction, app.Balanced, app.Reported]
) -> None:
    value = parts.quantity(done[1].answer.values["tanks.ox"])
    section = next(
        one for one in tree(text).iter(f"{HTML}section") if one.get("aria-labelledby") == "set-points"
    )
    assert f"{value.whole}{value.rest} {value.doubt} {value.unit}" in words(section)


def test_without_engine_without_run_and_with_hand_runs_alone() -> None:
    empty = sound(made(hand_made.campaign()))
    assert "No run yet" in words(empty)
    assert "No engine was given" in words(empty)
    unusable = sound(made(hand_made.campaign(hand_made.metered("W1", AREA, excluded="spilled"))))
    assert "No effective area" in words(unusable)
    assert "spilled" in words(unusable)
    by_hand = sound(
        made(hand_made.campaign(hand_made.by_hand("H1", start=6e5, end=3e5, volume=0.05, time=9.0)))
    )
    assert "Nothing was logged" in words(by_hand)
    assert "Read or typed by hand" in words(by_hand)


def test_a_point_that_cannot_be_reached_is_told_and_no_number_given() -> None:
    campaign = hand_made.campaign(hand_made.metered("W1", AREA), engine=hand_made.engine())
    root = sound(made(campaign))
    told = words(root)
    assert "No set points." in told
    assert "stop" in told
    assert "Tank pressures" not in told


def test_words_of_the_folder_are_words_on_the_page() -> None:
    """Names and reasons with markup in them stay text."""
    evil = '<script>alert("1")</script> & "W"'
    campaign = replace(hand_made.campaign(hand_made.metered("W1", AREA, excluded=evil)), name=evil)
    text = made(campaign)
    root = sound(text)
    assert evil in words(next(root.iter(f"{HTML}h1")))
    assert "&lt;script&gt;alert" in text


def test_residuals_are_the_readings_over_the_characteristic() -> None:
    run = reduce(hand_made.campaign(hand_made.metered("W1", AREA), hand_made.metered("W2", AREA))).runs["W1"]
    reduced = reduce(hand_made.campaign(hand_made.metered("W1", AREA), hand_made.metered("W2", AREA)))
    item = reduced.characteristics["ox"]
    moved = replace(item, area_eff=replace(item.area_eff, value=run.readings[0].area_eff / 1.02))
    drawing = residuals.draw("W1", run.readings[:1], {"ox": moved}, sides={"ox": "ox"})
    assert drawing is not None
    assert drawing.rows[0][2] == "+2.00 %"
    sloped = replace(moved, model="slope", slope_seen=0.1, re_ref=run.readings[0].re / np.e)
    assert residuals.expected(sloped, run.readings[0].re) == pytest.approx(moved.area_eff.value * np.exp(0.1))


def test_thinned_channels_lose_no_spike() -> None:
    time = np.arange(100_000) / 1000
    values = np.sin(time)
    values[54_321] = 9.0
    values[:200] = np.nan
    kept = extremes(time, {"P": values})
    assert kept is not None
    assert kept.time.size == kept.values["P"].size <= 400
    assert np.nanmax(kept.values["P"]) == 9.0
    assert abs(kept.time[int(np.nanargmax(kept.values["P"]))] - 54.321) < 0.5
    assert np.all(np.diff(kept.time) > 0)
    assert extremes(np.empty(0), {}) is None


def notice(code: str, **facts: float) -> Notice:
    """A notice with facts."""
    return Notice(code=code, severity=Severity.DOUBT, text="", facts=tuple(facts.items()))


@pytest.mark.parametrize(
    ("one", "value", "limits"),
    [
        (notice("tare-drift", shift=-300.0, limit=100.0), "0.00300 bar", ["allowed 0.00100 bar"]),
        (
            notice("closure", closure=-0.03, u=0.005, metered=1.0, witnessed=1.0),
            "3 %",
            ["allowed 1 %", "stop 2 %"],
        ),
        (notice("gas-breakthrough", scatter=0.1, scatter_usual=0.01), "10 %", ["allowed 3 %"]),
        (notice("window-short", trend=-0.02, u=0.001), "2 %", ["allowed 0.3 %"]),
        (notice("article-cavitates", cav=1.2), "1.2", ["left out below 1.5", "clear above 2"]),
        (notice("neighbour-leak", p_rise=2e4, p_tap=4e5), "5 %", ["doubt 0.2 %", "stop 2 %"]),
        (
            notice("re-outside", re=5e5, re_low=8e4, re_high=1e5),
            "500 000",
            ["tested from 80 000", "to 100 000"],
        ),
        (
            notice("meter-out-of-scope", found=8e4, low=2e5, high=1e6),
            "80 000",
            ["from 200 000", "to 1 000 000"],
        ),
    ],
)
def test_a_findings_number_is_drawn_against_its_limit(one: Notice, value: str, limits: list[str]) -> None:
    """Value and limits in words, and in the right order along the line."""
    ruler = evidence.against_limit(one, Limits())
    assert ruler is not None
    assert ruler.value.replace("\N{NO-BREAK SPACE}", " ") == value
    assert [words.replace("\N{NO-BREAK SPACE}", " ") for words, _ in ruler.limits] == limits
    assert all(0 <= at <= 100 for at in (ruler.at, *(at for _, at in ruler.limits)))
    beyond = ruler.at > ruler.limits[-1][1]
    assert beyond == (one.code not in ("article-cavitates", "meter-out-of-scope"))


def test_findings_without_a_number_or_a_place_are_told_in_words_alone() -> None:
    assert evidence.against_limit(notice("tare-drift"), Limits()) is None
    assert evidence.against_limit(notice("signer-not-named"), Limits()) is None
    assert evidence.mark(notice("tare-drift", shift=1.0), "a") is None
    place = evidence.mark(notice("gas-breakthrough", time=8.0, duration=1.5), "b")
    assert place is not None
    assert (place.start, place.end, place.letter) == (8.0, 9.5, "b")
    place = evidence.mark(notice("tare-in-flow", start=1.0, end=3.0), "c")
    assert place is not None
    assert (place.start, place.end) == (1.0, 3.0)


def test_a_drawing_set_into_a_page_is_the_pages_own() -> None:
    drawn = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="90pt" height="9pt" '
        'viewBox="0 0 90 9"><metadata>x</metadata><defs><style>*{a}</style><clipPath id="p1"/></defs>'
        f'<g clip-path="url(#p1)"><use xlink:href="#p1" style="fill: {style.INK}; stroke: #123456"/>'
        '<path d="M 1.23456 -2.5"/></g></svg>'
    )
    text = inline(drawn, name="f7", title="a & b", description="<c>")
    root = ET.fromstring(text)
    assert root.get("aria-labelledby") == "f7-title f7-desc"
    assert 'id="f7-p1"' in text
    assert "url(#f7-p1)" in text
    assert 'href="#f7-p1"' in text
    assert "fill: var(--ink); stroke: #123456" in text
    assert 'd="M 1.23 -2.5"' in text
    assert "metadata" not in text
    assert "{a}" not in text
    assert "a &amp; b" in text


def _palettes() -> list[dict[str, str]]:
    css = (page.TEMPLATES / "report.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", css, flags=re.DOTALL)
    return [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", block)) for block in blocks[:2]]


def _luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.1, definition of relative luminance (from memory)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("palette", _palettes(), ids=["paper", "night"])
def test_text_stands_out_from_its_ground(palette: dict[str, str]) -> None:
    assert len(palette) == 10
    ground = _luminance(palette["ground"])
    for name in set(palette) - {"ground", "rule"}:
        one = _luminance(palette[name])
        ratio = (max(one, ground) + 0.05) / (min(one, ground) + 0.05)
        assert ratio >= 4.5, (name, ratio)
