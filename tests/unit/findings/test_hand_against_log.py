"""A gauge read by a person or off film against the channel of the same instrument or tap."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.evidence import RunEvidence
from headrace.findings.hand_against_log import find
from headrace.notices import Severity
from headrace.records.filmed import Filmed
from headrace.records.given import Accuracy, HandReading
from support.run_evidence import AMBIENT, BAR, Scene, instrument, only, run_given

AT = 6.0
TRUE = 5.0 * BAR * np.exp(-0.05 * (AT - 2.0))


def read(off: float, tag: str = "PG", **changes: object) -> HandReading:
    base = HandReading(
        instrument=tag, moment="start", value=TRUE + off, time=AT, u_time=0.1, division=0.1 * BAR
    )
    return replace(base, **changes)  # type: ignore[arg-type]  # by name


def scene(*hand: HandReading, measures: str = "gauge") -> Scene:
    """PG, of class 1.0, stands at the tap of circuit ox, as another run names it."""
    made = Scene()
    made.instruments["PG"] = instrument("PG", measures, 10 * BAR)
    made.instruments["PG"] = replace(
        made.instruments["PG"],
        accuracy=Accuracy(of_span=0.01 / np.sqrt(3), text="class 1.0"),
        division=0.1 * BAR,
    )
    made.hand = hand
    return made


def seen(made: Scene, *, at_tap: bool = True) -> RunEvidence:
    whole: RunEvidence = made.evidence()
    others = {"W03": run_given("W03", "ox", "PG")} if at_tap else {}
    runs = {**whole.campaign.runs, **others}
    return replace(whole, campaign=replace(whole.campaign, runs=runs))


# u: class and as much for drift (no certificate) at 4.1 of 10 bar, the fall over a quarter of a second, a quarter of a
# division by eye; twice that is about 0.11 bar
@pytest.mark.parametrize(("off", "found"), [(0.0, 0), (0.06, 0), (-0.06, 0), (0.3, 1), (-0.3, 1)])
def test_a_gauge_at_the_same_tap(off: float, found: int) -> None:
    notices = find(seen(scene(read(off * BAR))))
    assert len(notices) == found
    for one in notices:
        assert (one.code, one.severity, one.run, one.about) == (
            "hand-against-log", Severity.DOUBT, "W01", "channel PM-OX",
        )  # fmt: skip
        assert dict(one.facts)["difference"] == pytest.approx(off * BAR, abs=0.01 * BAR)
        assert "at 6.00 s" in one.text


def test_twice_its_own_doubt_is_the_limit() -> None:
    u = dict(only(find(seen(scene(read(0.3 * BAR))))).facts)["u"]
    assert 0.02 * BAR < u < 0.1 * BAR
    middle = 0.3 * BAR - dict(only(find(seen(scene(read(0.3 * BAR))))).facts)["difference"]
    assert find(seen(scene(read(middle + 1.97 * u)))) == ()
    assert len(find(seen(scene(read(middle + 2.03 * u))))) == 1


def test_of_a_gauge_that_no_run_puts_at_this_tap_nothing_is_said() -> None:
    assert find(seen(scene(read(0.3 * BAR)), at_tap=False)) == ()


def test_the_same_instrument_has_but_its_reading_to_err_by() -> None:
    assert find(seen(scene(read(0.03 * BAR - 900.0, "PM-OX")))) == ()  # as shown: its zero is not taken off
    one = only(find(seen(scene(read(0.15 * BAR, "PM-OX")))))
    assert "what was logged of it" in one.text


def test_absolute_and_gauge_are_held_against_each_other() -> None:
    assert find(seen(scene(read(AMBIENT), measures="abs"))) == ()
    assert len(find(seen(scene(read(AMBIENT + 0.3 * BAR), measures="abs")))) == 1


@pytest.mark.parametrize(
    ("moment", "off", "found"), [("before", 0.0, 0), ("before", 0.5, 1), ("after", 0.5, 1)]
)
def test_at_rest(moment: str, off: float, found: int) -> None:
    reading = read(0.0, moment=moment, time=None, value=off * BAR)
    assert len(find(seen(scene(reading)))) == found


def test_a_moment_that_is_not_known_to_seconds_is_not_held() -> None:
    assert find(seen(scene(read(2 * BAR, time=None)))) == ()


@pytest.mark.parametrize(("off", "found"), [(0.0, 0), (0.05, 0), (0.4, 1), (-0.4, 1)])
def test_a_filmed_gauge(off: float, found: int) -> None:
    whole = seen(scene())
    trace = whole.run.trace
    assert trace is not None
    film = np.where((whole.time > 2) & (whole.time < 10), whole.streams["ox"].p_tap + off * BAR, 0.0)
    filmed = {"PG": Filmed(camera="CAM", u_parallax=0.02 * BAR, step=0.05 * BAR, between=0.5)}
    trace = replace(trace, filmed=filmed, channels={**trace.channels, "PG": film})
    evidence = replace(whole, run=replace(whole.run, trace=trace), signals={**whole.signals, "PG": film})
    notices = find(evidence)
    assert len(notices) == found
    for one in notices:
        assert "filmed" in one.text
        assert dict(one.facts)["difference"] == pytest.approx(off * BAR, rel=0.02)
