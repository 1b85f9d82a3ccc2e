"""What a folder may hold and no area can come of: told as a doubt of its run, and the other runs are not lost."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.errors import InputError
from headrace.files.folder import read
from headrace.jobs.reduce import reduce
from headrace.records.given import RunGiven, Stated, Total, WindowGiven
from support import hand_made as made
from support.golden_folder import BY_HAND, LONG, METERED, write

E, BAR = 2.31e-4, made.BAR
GOOD = made.metered("W00", E)


def by_hand(start: float, end: float) -> RunGiven:
    return made.by_hand("W01", start=start, end=end, volume=0.06, time=9.5)


def changed(**channels: np.ndarray) -> RunGiven:
    run = made.metered("W01", E)
    assert run.trace is not None
    return replace(run, trace=made.trace({**run.trace.channels, **channels}))


def cut(rows: int) -> RunGiven:
    run = made.metered("W01", E)
    assert run.trace is not None
    short = {tag: channel[60 : 60 + rows] for tag, channel in run.trace.channels.items()}
    return replace(run, trace=replace(run.trace, time=made.TIME[60 : 60 + rows], channels=short))


def pair(volume: float) -> tuple[RunGiven, RunGiven]:
    total = Total(volume=Stated(value=volume, u=1e-4), duration=Stated(value=9.5, u=0.1))
    long = replace(by_hand(8 * BAR, 6 * BAR), method="long-minus-short", minus="S01", total=total)
    return long, made.by_hand("S01", start=8 * BAR, end=7.4 * BAR, volume=0.012, time=2.0)


NAN = np.full_like(made.TIME, np.nan)
CASES = {
    "no drop by hand": (by_hand(-0.1 * BAR, -0.1 * BAR),),
    "below ambient by hand": (by_hand(3 * BAR, -0.5 * BAR),),
    "no reading of the meter": (changed(**{"DP-A": NAN}),),
    "no reading of the tap": (changed(**{"PM-OX": NAN}),),
    "negative drop": (changed(**{"PM-OX": made.p_fall(-3 * BAR, -3 * BAR)}),),
    "nothing flows": (changed(**{"DP-A": 0 * made.TIME - 1.0}),),
    "one row": (cut(1),),
    "two rows": (cut(2),),
    "window between two samples": (
        replace(GOOD, id="W01", window=WindowGiven(start=4.01, end=4.02, reason="x")),
    ),
    "window at rest": (replace(GOOD, id="W01", window=WindowGiven(start=0.1, end=0.9, reason="x")),),
    "boiling water": (replace(GOOD, id="W01", water_temperature=Stated(value=474.0)),),
    "a pair of equal runs": pair(0.012),
}


@pytest.mark.parametrize("case", CASES)
def test_a_run_without_an_answer_is_told_and_the_others_stand(case: str) -> None:
    runs = CASES[case]
    reduced = reduce(made.campaign(GOOD, *runs))
    assert reduced.characteristics["ox"].area_eff.value == pytest.approx(E, rel=1e-5)
    assert reduced.characteristics["ox"].weights == {"W00": 1.0}
    told = [one for one in reduced.notices if one.code == "run-not-reduced"]
    assert [(one.run, one.severity) for one in told] == [("W01", "stop")]
    assert not [one for one in reduced.runs["W01"].readings if one.used]


def test_alone_it_leaves_a_campaign_without_areas() -> None:
    reduced = reduce(made.campaign(*CASES["below ambient by hand"]))
    assert not reduced.characteristics


def test_excluded_it_is_a_doubt_and_no_stop() -> None:
    left = replace(by_hand(3 * BAR, -0.5 * BAR), excluded="the valve stuck")
    (told,) = [one for one in reduce(made.campaign(GOOD, left)).notices if one.code == "run-not-reduced"]
    assert told.severity == "doubt"


WEIGHED = METERED[: METERED.index("[tare]")].replace('"metered"', '"weighed"')
WEIGHED = WEIGHED.replace("file =", 'water_temperature = "17 degC ± 0.5 K"\nfile =')
SECOND = '[[flow]]\ncircuits = ["fuel"]\nlines = ["B"]\np_tap = "PM-OX"\n[logger]'
FOLDERS = {
    "by hand against back-pressure": (
        "runs/H01/run.toml",
        BY_HAND.replace('p_tap = "PG-TAP"\n', 'p_tap = "PG-TAP"\np_back = "P-BACK"\n'),
        ["flow[0].p_back"],
    ),
    "a total of several streams": (
        "runs/W07/run.toml",
        WEIGHED.replace("[logger]", SECOND) + '[total]\nmass = "60 kg ± 0.1 kg"\n',
        ["total.line"],
    ),
    "a total of another line": (
        "runs/H02/run.toml",
        LONG.replace('minus = "H01"', 'minus = "H01"\nline = "A"'),
        ["total.line"],
    ),
    "a total of one of them": (
        "runs/W07/run.toml",
        WEIGHED.replace("[logger]", SECOND) + '[total]\nmass = "60 kg ± 0.1 kg"\nline = "A"\n',
        [],
    ),
}


@pytest.mark.parametrize("case", FOLDERS)
def test_what_the_files_can_tell_they_tell_first(case: str, tmp_path: object) -> None:
    file, text, keys = FOLDERS[case]
    folder = write(tmp_path, {file: text})  # type: ignore[arg-type]  # pytest's path
    if not keys:
        read(folder)
        return
    with pytest.raises(InputError) as caught:
        read(folder)
    assert [(one.file, one.key) for one in caught.value.problems] == [(file, key) for key in keys]
