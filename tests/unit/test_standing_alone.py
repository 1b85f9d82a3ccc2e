"""Values that stand alone are marked, and nothing else is: planted faults against clean signals of many kinds."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from headrace.stats.alone import SCATTERS, standing_alone

Array = NDArray[np.float64]
SIZE = 200_000
RATE = 1000.0
ALLOWED = 1e-5


def _smooth(dice: np.random.Generator, width: int) -> Array:
    """Slow noise of sd 1."""
    return np.convolve(dice.normal(0, 1, SIZE), np.ones(width) / np.sqrt(width), "same")


def _plateaus(dice: np.random.Generator, length: int = 400) -> Array:
    return np.repeat(dice.uniform(0, 100, SIZE // length), length)


def _ringing(dice: np.random.Generator) -> Array:
    """A valve that shuts again and again: a damped ringing near half the sampling rate."""
    at = np.arange(400)
    ring = 1 + np.exp(-at / 6.0) * np.cos(2.9 * at)
    return np.concatenate([size * ring for size in dice.uniform(-50, 50, SIZE // 400)])


def _opening(dice: np.random.Generator) -> Array:
    """A valve that opens within a few samples and shuts at once."""
    at = np.arange(400)
    shape = np.where(at < 300, 1 - np.exp(-at / 3.0), 0.0) * np.exp(-at / 900)
    return np.concatenate([size * shape for size in dice.uniform(5, 50, SIZE // 400)])


CLEAN: dict[str, Callable[[np.random.Generator], Array]] = {
    "noise": lambda dice: dice.normal(0, 1, SIZE),
    "heavy-tailed noise": lambda dice: dice.laplace(0, 1, SIZE),
    "cavitation in bursts": lambda dice: 1e3 + np.exp(_smooth(dice, 100)) * dice.laplace(0, 1, SIZE),
    "converter steps": lambda dice: np.round(20 * np.sin(np.arange(SIZE) / 5e3) + dice.normal(0, 0.4, SIZE)),
    "converter, hardly a flicker": lambda dice: np.round(5 + dice.normal(0, 0.2, SIZE)),
    "hum": lambda dice: np.sin(2 * np.pi * 50 * np.arange(SIZE) / RATE) + dice.normal(0, 0.01, SIZE),
    "hum, aliased": lambda dice: np.sin(2 * np.pi * 50 * np.arange(SIZE) / 99.0) + dice.normal(0, 0.01, SIZE),
    "steps": lambda dice: _plateaus(dice) + dice.normal(0, 0.1, SIZE),
    "steps without noise": _plateaus,
    "valve opens": lambda dice: _opening(dice) + dice.normal(0, 0.05, SIZE),
    "valve opens, no noise": _opening,
    "ringing": lambda dice: _ringing(dice) + dice.normal(0, 0.1, SIZE),
    "few counts": lambda dice: dice.poisson(0.05, SIZE).astype(float),
    "counts": lambda dice: dice.poisson(20, SIZE).astype(float),
    "a state that switches": lambda dice: (dice.uniform(0, 1, SIZE) < 1e-3).astype(float),
    "falling drop": lambda dice: 16e4 * np.exp(-np.arange(SIZE) / 5e4) + dice.normal(0, 30, SIZE),
}


@pytest.mark.parametrize("kind", CLEAN)
def test_nothing_of_a_clean_signal_is_marked(kind: str) -> None:
    marked = standing_alone(CLEAN[kind](np.random.default_rng(3)))
    assert np.count_nonzero(marked) <= ALLOWED * SIZE


def _falling(dice: np.random.Generator, size: int = 4000) -> Array:
    return 16.9 * np.exp(-np.arange(size) / 4e4) + dice.normal(0, 0.01, size)


@pytest.mark.parametrize("length", [1, 2, 3])
def test_zeros_of_a_drop_out_are_marked_and_their_neighbours_are_not(length: int) -> None:
    dice = np.random.default_rng(11)
    for place in dice.integers(6, 3990, 50):
        values = _falling(dice)
        values[place : place + length] = 0.0
        np.testing.assert_array_equal(
            np.flatnonzero(standing_alone(values)), np.arange(place, place + length)
        )


def test_a_lost_leading_digit_is_marked_anywhere() -> None:
    dice = np.random.default_rng(12)
    for place in (0, 1, 127, 128, 129, 2000, 3998, 3999):
        values = _falling(dice)
        values[place] -= 10.0  # 16.9 reads 6.9
        assert np.flatnonzero(standing_alone(values)).tolist() == [place]


def test_wild_values_side_by_side_do_not_hide_each_other() -> None:
    values = _falling(np.random.default_rng(13))
    values[[500, 503, 505, 580]] = [3.0, 900.0, 0.0, 690.0]
    assert np.flatnonzero(standing_alone(values)).tolist() == [500, 503, 505, 580]


def test_more_repeats_than_a_drop_out_has_are_left_alone() -> None:
    values = _falling(np.random.default_rng(14))
    values[700:704] = 0.0
    assert not standing_alone(values).any()


@pytest.mark.parametrize("length", [2, 3, 4, 5])
@pytest.mark.parametrize(
    "read", [lambda x: x % 1.0, lambda x: 1e3 * (x % 1.0), lambda x: 1e2 * (x % 1.0)],
    ids=["0.690 for 1.690", "690 for 1.690", "69.0 for 1.690"],
)  # fmt: skip
@pytest.mark.parametrize("scale", [1.0, 1e5, -100.0])
def test_a_leading_digit_lost_in_a_few_rows_is_marked(
    length: int, read: Callable[[Array], Array], scale: float
) -> None:
    dice = np.random.default_rng(18)
    for place in (6, 123, 126, 700, 3980):
        values = 1.6 + 0.3 * np.exp(-np.arange(4000) / 2e3) + dice.normal(0, 0.003, 4000)
        rows = slice(place, place + length)
        values[rows] = read(values[rows])
        found = np.flatnonzero(standing_alone(scale * values)).tolist()
        assert found == list(range(place, place + length))


@pytest.mark.parametrize("length", [3, 4, 5])
@pytest.mark.parametrize("factor", [0.0, 0.2, 0.5, 0.7, 1.4, 3.0, 20.0])
def test_a_few_rows_of_another_level_are_left_alone(length: int, factor: float) -> None:
    dice = np.random.default_rng(19)
    values = 1.69 + dice.normal(0, 0.003, 4000)
    rows = slice(700, 700 + length)
    values[rows] *= factor + dice.normal(0, 0.003, length)  # a valve that bounces, a knock
    assert not standing_alone(values).any()


def test_more_rows_than_a_group_are_left_alone() -> None:
    values = 1.69 + np.random.default_rng(20).normal(0, 0.003, 4000)
    values[700:706] -= 1.0
    assert not standing_alone(values).any()


def test_the_first_value_after_a_restart_is_judged_by_what_follows() -> None:
    values = _falling(np.random.default_rng(15))
    values[2000:] += 30.0
    assert not standing_alone(values).any()
    values[2000] = 40.0  # between the two levels: only a restart makes it wild
    assert not standing_alone(values).any()
    assert np.flatnonzero(standing_alone(values, starts=[2000])).tolist() == [2000]


def test_holes_are_passed_over() -> None:
    values = _falling(np.random.default_rng(16))
    values[100:130] = np.nan
    values[99] = 0.0
    values[131] = 900.0
    assert np.flatnonzero(standing_alone(values)).tolist() == [99, 131]


def test_the_limit_lies_where_it_is_said() -> None:
    dice = np.random.default_rng(17)
    found = []
    for size in (0.7 * SCATTERS, 1.6 * SCATTERS):
        hits = 0
        for _ in range(60):
            values = dice.normal(0, 1, 400)
            values[200] = size
            hits += bool(standing_alone(values)[200])
        found.append(hits)
    assert found[0] <= 3
    assert found[1] >= 57


def test_where_all_neighbours_are_one_value_only_a_stated_least_marks() -> None:
    values = np.full(400, 17.2)
    values[200] = 0.0
    assert not standing_alone(values).any()
    assert np.flatnonzero(standing_alone(values, least=0.5)).tolist() == [200]
    assert not standing_alone(values, least=20.0).any()


def test_a_short_record_is_left_alone() -> None:
    assert not standing_alone([1.0, 1.1, 900.0, 1.0, 1.1, 1.0]).any()
