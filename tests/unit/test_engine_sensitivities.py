"""What a change of one thing does to O/F, flow and chamber pressure: a table worked out on paper, to its last digit.

Chamber at 20 bar, O/F 1.3 (56.5 % of the flow is oxidiser), tanks at 30/30 or 30/26 bar absolute. Computed by
ourselves outside the chain, so it stands here and not among the published checks.
"""

from math import sqrt

import pytest

from support.plain_engine import PlainEngine, PlainSide

P, SHARE, TOTAL = 20e5, 1.3 / 2.3, 10.0
RHO = (1141.0, 806.0)
TANKS = {"30/30": (30e5, 30e5), "30/26": (30e5, 26e5)}


def engine(tanks: tuple[float, float]) -> PlainEngine:
    """Areas such that these tanks give 20 bar and that share of flow."""
    flows = (SHARE * TOTAL, (1 - SHARE) * TOTAL)
    ox, fuel = (
        PlainSide(rho=rho, injector=m / sqrt(2 * rho * (tank - P)), line=None)
        for rho, m, tank in zip(RHO, flows, tanks, strict=True)
    )
    c_star = 1650.0
    return PlainEngine(ox=ox, fuel=fuel, c_star=c_star, area_throat=c_star * TOTAL / P)


def changed(
    name: str, plain: PlainEngine, tanks: tuple[float, float]
) -> tuple[PlainEngine, tuple[float, float]]:
    ox, fuel = plain.ox, plain.fuel
    engines = {
        "c* -5 %": plain.but(c_star=0.95 * plain.c_star),
        "E_ox +1 %": plain.but(ox={"injector": 1.01 * ox.injector}),
        "A_t +4 %": plain.but(area_throat=1.04 * plain.area_throat),
        "rho_ox -3 %": plain.but(ox={"rho": 0.97 * ox.rho}),
        "E_fuel +14.3 %": plain.but(fuel={"injector": 0.40 / 0.35 * fuel.injector}),
    }
    if name in engines:
        return engines[name], tanks
    return plain, (tanks[0] + 0.3e5, tanks[1])


@pytest.mark.parametrize(
    ("name", "pair", "of_ratio", "m_dot", "p_chamber"),
    [
        ("c* -5 %", "30/30", "0.00", "+2.55", "-2.58"),
        ("c* -5 %", "30/26", "-1.41", "+2.88", "-2.27"),
        ("E_ox +1 %", "30/30", "+1.00", "+0.28", "+0.28"),
        ("E_ox +1 %", "30/26", "+1.17", "+0.25", "+0.25"),
        ("p_ox +0.3 bar", "30/30", "+1.50", "+0.42", "+0.42"),
        ("p_ox +0.3 bar", "30/26", "+1.75", "+0.37", "+0.37"),
        ("A_t +4 %", "30/30", "0.00", "+1.95", "-1.97"),
        ("A_t +4 %", "30/26", "-1.10", "+2.20", "-1.73"),
        ("rho_ox -3 %", "30/30", "-1.51", "-0.43", "-0.43"),
        ("rho_ox -3 %", "30/26", "-1.75", "-0.38", "-0.38"),
        ("E_fuel +14.3 %", "30/30", "-12.5", "+3.0", "+3.0"),
        ("E_fuel +14.3 %", "30/26", "-10.9", "+2.6", "+2.6"),
    ],
)
def test_the_table_to_its_last_digit(name: str, pair: str, of_ratio: str, m_dot: str, p_chamber: str) -> None:
    tanks = TANKS[pair]
    plain = engine(tanks)
    before = plain.forward(*tanks)
    assert before.p_chamber == pytest.approx(P, rel=1e-9)
    other, pressures = changed(name, plain, tanks)
    after = other.forward(*pressures)
    for told, new, old in (
        (of_ratio, after.of_ratio, before.of_ratio),
        (m_dot, sum(after.m_dot), sum(before.m_dot)),
        (p_chamber, after.p_chamber, before.p_chamber),
    ):
        last = 10.0 ** -len(told.split(".")[1])
        assert 100 * (new / old - 1) == pytest.approx(float(told), abs=0.5 * last)
