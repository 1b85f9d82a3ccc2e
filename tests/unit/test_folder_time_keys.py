"""Keys that say what instruments do in time and at line pressure: read, or refused in words."""

from pathlib import Path

import pytest

from headrace.files.check import check
from headrace.files.folder import read
from headrace.records.given import Campaign
from support import golden_folder

BENCH, W07, CAMPAIGN = "bench.toml", "runs/W07/run.toml", "campaign.toml"
CHANNEL = '"dp venturi A" = { instrument = "DP-A", unit = "mA" }'


def changed(target: Path, *changes: tuple[str, str, str]) -> Path:
    """The golden folder with pieces of its files replaced: file, old text, new text."""
    files = {name: text for name, text in golden_folder.files().items() if name.endswith(".toml")}
    for file, old, new in changes:
        assert old in files[file], (file, old)
        files[file] = files[file].replace(old, new, 1)
    golden_folder.write(target, files)
    return target


def campaign(target: Path, *changes: tuple[str, str, str]) -> Campaign:
    return read(changed(target, *changes))


def test_lag_filter_skew_height_and_leg(tmp_path: Path) -> None:
    found = campaign(
        tmp_path,
        (BENCH, 'lag = "20 ms"\nheight = "0.40 m"', 'lag = "80 ms ± 15 ms"\nfilter = "butterworth 2, 10 Hz"\n'
         'skew = "-2 ms ± 0.5 ms, k=2"\nheight = "0.40 m ± 5 mm"\nleg = "empty"'),
        (CAMPAIGN, "re_distance =", 'lag = "30 %"\nre_distance ='),
    )  # fmt: skip
    one = found.bench.instruments["DP-A"]
    assert one.lag is not None
    assert one.filter is not None
    assert one.skew is not None
    assert one.height is not None
    assert (one.lag.value, one.lag.u) == pytest.approx((0.08, 0.015 / 3**0.5))
    assert one.filter.value == pytest.approx(0.0225079, rel=1e-5)
    assert (one.skew.value, one.skew.u, one.skew.dist) == pytest.approx((-0.002, 0.00025, "normal"))
    assert (one.height.value, one.height.u, one.leg) == pytest.approx((0.4, 0.005 / 3**0.5, "empty"))
    assert found.defaults.lag == 0.3


def test_a_skew_of_one_channel_in_one_run(tmp_path: Path) -> None:
    said = CHANNEL.replace(" }", ', skew = "3 ms ± 1 ms, k=2" }')
    trace = campaign(tmp_path / "a", (W07, CHANNEL, said)).runs["W07"].trace
    assert trace is not None
    (one,) = trace.skews.items()
    assert (one[0], one[1].value, one[1].u) == ("DP-A", pytest.approx(0.003), pytest.approx(0.0005))
    assert one[1].origin == "runs/W07/run.toml, skew of dp venturi A"
    for wrong in ("3 mm", "soon", "3"):
        found = check(
            changed(tmp_path / wrong, (W07, CHANNEL, CHANNEL.replace(" }", f', skew = "{wrong}" }}')))
        )
        assert [one.key for one in found.problems] == ['channels."dp venturi A".skew']


def test_what_is_not_stated_is_none(tmp_path: Path) -> None:
    found = campaign(tmp_path, (BENCH, 'lag = "20 ms"\n', ""))
    one = found.bench.instruments["DP-A"]
    assert (one.lag, one.filter, one.skew, one.leg) == (None, None, None, "filled")
    assert found.defaults.lag == 0.2


def test_two_gauges_in_place_of_a_transmitter(tmp_path: Path) -> None:
    found = campaign(
        tmp_path,
        (BENCH, 'dp = "DP-A"\np_up = "P1-A"', 'p_high = "P1-A"\np_low = "PM-OX"'),
        (W07, CHANNEL, '"dp venturi A" = { instrument = "P1-A", unit = "bar(g)" }'),
    )  # fmt: skip
    meter = found.bench.meters["FV-A"]
    assert meter.instruments == {"dp": "P1-A - PM-OX", "p_up": "P1-A"}
    pair = found.bench.instruments["P1-A - PM-OX"]
    assert (pair.parts, pair.measures, pair.span) == (("P1-A", "PM-OX"), "drop", 40e5)


def test_trapped_gas_inertance_and_a_zero_at_line_pressure(tmp_path: Path) -> None:
    found = campaign(
        tmp_path,
        (BENCH, 'inertance = "900 1/m"', 'inertance = "900 1/m ± 10 %"\ntrapped_gas = "0.2 L ± 0.1 L"'),
        (W07, "[tare]", '[tare]\nat_pressure = ["1.6 s", "2.2 s"]'),
    )
    line = found.bench.lines["A"]
    assert (line.inertance, line.inertance_u) == pytest.approx((900.0, 90 / 3**0.5))
    assert line.trapped_gas is not None
    assert (line.trapped_gas.value, line.trapped_gas.u) == pytest.approx((2e-4, 1e-4 / 3**0.5))
    assert found.runs["W07"].tare_at_pressure == (1.6, 2.2)


@pytest.mark.parametrize(
    ("file", "old", "new", "key", "expected"),
    [
        (BENCH, 'lag = "20 ms"', 'lag = "-20 ms"', "instrument[0].lag", "at least 0"),
        (BENCH, 'lag = "20 ms"', 'filter = "butterwort 2, 10 Hz"', "instrument[0].filter", "butterworth"),
        (BENCH, 'lag = "20 ms"', 'filter = "bessel 40, 10 Hz"', "instrument[0].filter", "1 to 10"),
        (BENCH, 'lag = "20 ms"', 'filter = "bessel 2, 10 s"', "instrument[0].filter", "frequency"),
        (BENCH, 'lag = "20 ms"', "filter = 10", "instrument[0].filter", "kind"),
        (BENCH, 'lag = "20 ms"', 'leg = "full"', "instrument[0].leg", "filled"),
        (BENCH, 'dp = "DP-A"', 'dp = "DP-A"\np_high = "P1-A"', "meter[0].p_high", "two gauges"),
        (BENCH, 'dp = "DP-A"\n', "", "meter[0].dp", "p_high and p_low"),
        (BENCH, 'dp = "DP-A"', 'p_high = "P1-A"', "meter[0].p_low", "since p_high is given"),
        (BENCH, 'dp = "DP-A"', 'p_high = "P1-A"\np_low = "P1-A"', "meter[0].p_low", "two gauges"),
        (BENCH, 'dp = "DP-A"', 'p_high = "P1-A"\np_low = "TW-A"', "meter[0].p_low", "gauge or abs"),
        (BENCH, 'inertance = "900 1/m"', 'trapped_gas = "-1 L"', "line[0].trapped_gas", "at least 0"),
        (W07, "[tare]", '[tare]\nat_pressure = ["2.2 s", "1.6 s"]', "tare.at_pressure", "the lower first"),
        (W07, "[tare]", '[tare]\nat_pressure = ["170 s", "180 s"]', "tare.at_pressure", "inside the trace"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_in_words(
    file: str, old: str, new: str, key: str, expected: str, tmp_path: Path
) -> None:
    told = [one for one in check(changed(tmp_path, (file, old, new))).problems if one.key == key]
    assert told, check(tmp_path).problems
    assert expected in told[0].expected


def test_both_gauges_of_a_pair_need_a_column(tmp_path: Path) -> None:
    changed(tmp_path, (BENCH, 'dp = "DP-A"\np_up = "P1-A"', 'p_high = "P1-A"\np_low = "PM-OX"'))
    told = check(tmp_path).problems
    assert [one.found for one in told if one.key == "channels"] == ['no column mapped to "P1-A"']
