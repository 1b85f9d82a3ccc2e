"""What set points carry for the sheet: each tank's setting alone against moved tanks, Re in the engine."""

import dataclasses
import math
from pathlib import Path

import pytest

from headrace.demo import scenario
from headrace.files.folder import read
from headrace.jobs.balance import predict, setpoints
from headrace.jobs.reduce import reduce
from headrace.physics.fluids import fluid


@pytest.fixture(scope="module")
def balanced(tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = Path(tmp_path_factory.mktemp("facts")) / "campaign"
    scenario.write(folder)
    campaign = read(folder)
    campaign = dataclasses.replace(campaign, defaults=dataclasses.replace(campaign.defaults, draws=500))
    reduced = reduce(campaign)
    design = campaign.engine.design
    answer = setpoints(campaign, reduced, p_chamber=design.p_chamber, m_dot=None, of_ratio=design.of_ratio)
    return campaign, reduced, answer


@pytest.mark.parametrize("side", ["ox", "fuel"])
def test_one_tanks_setting_moves_the_engine_as_a_prediction_says(balanced: tuple, side: str) -> None:
    campaign, reduced, answer = balanced
    set_to = {name: answer.values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    width = campaign.engine.sides[side].tank.setting
    ends = [
        predict(campaign, reduced, tanks=set_to | {side: set_to[side] + sign * width}).values
        for sign in (-1, 1)
    ]
    for what in ("p_chamber", "of_ratio"):
        seen = abs(ends[1][what].value - ends[0][what].value) / 2
        assert answer.facts[f"setting.{side}.{what}"] == pytest.approx(seen, rel=5e-3)
        assert answer.facts[f"setting.{side}.{what}"] < answer.facts[f"setting.{what}"]


@pytest.mark.parametrize("side", ["ox", "fuel"])
def test_the_engines_reynolds_number_is_that_of_the_ideal_velocity_on_the_bore(
    balanced: tuple, side: str
) -> None:
    campaign, _, answer = balanced
    given = campaign.engine.sides[side]
    liquid, temp = fluid(given.propellant), given.temperature.value
    p_tank = answer.values[f"tanks.{side}"].value + campaign.engine.ambient.value
    rho = given.density.value if given.density is not None else float(liquid.rho(temp, p_tank))
    speed = math.sqrt(2 * answer.values[f"drop.{side}"].value / rho)
    bore = campaign.article.circuits[side].bore.value
    wanted = rho * speed * bore / float(liquid.mu(temp, p_tank))
    assert answer.facts[f"re_hot.{side}"] == pytest.approx(wanted, rel=3e-3)
