"""The liquids that headrace knows: one TOML file each in `data/`, and nothing else.

To add one, write its file: each property with a form of `FORMS`, its coefficients, source, how it is known,
range and uncertainty. The name of the file is the name of the liquid. A mixture says `mixture = "ethanol"`
and is asked for by number: `fluid("ethanol-75")` is 75 % by mass, `fluid("ethanol-95vol")` 95 % by volume.
"""

import difflib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from headrace.errors import OutOfDomain
from headrace.physics.fluids.ethanol_water import mass_fraction_from_volume
from headrace.physics.fluids.fluid import QUANTITIES, Fluid, Property
from headrace.physics.fluids.forms import FORMS

STATED = ("source", "how_known", "temp_min", "temp_max", "p_min", "p_max", "u_rel", "u_origin")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """One file of `data/`: what a liquid is made from. mixture: the prefix it is asked for by, or ""."""

    name: str
    title: str
    mixture: str
    note: str
    tables: Mapping[str, Any]

    def fluid(self, *, name: str, title: str, mass_fraction: float | None) -> Fluid:
        """The liquid itself, at one mass fraction if it is a mixture."""
        properties = {
            quantity: Property(
                law=FORMS[table["form"]](table, mass_fraction), **{key: table[key] for key in STATED}
            )
            for quantity, table in self.tables.items()
        }
        return Fluid(
            name=name,
            title=title,
            note=self.note,
            mass_fraction=mass_fraction,
            properties=MappingProxyType(properties),
        )


def _read() -> Mapping[str, Recipe]:
    recipes = {}
    for file in sorted(resources.files(__package__).joinpath("data").iterdir(), key=lambda one: one.name):
        if file.name.endswith(".toml"):
            name, raw = file.name.removesuffix(".toml"), tomllib.loads(file.read_text(encoding="utf-8"))
            recipes[name] = Recipe(
                name=name,
                title=raw["title"],
                mixture=raw.get("mixture", ""),
                note=raw.get("note", ""),
                tables={quantity: raw[quantity] for quantity in QUANTITIES},
            )
    return MappingProxyType(recipes)


PROPELLANTS: Mapping[str, Recipe] = _read()


@cache
def fluid(name: str) -> Fluid:
    """The liquid of that name.

    Args:
        name: A name of `PROPELLANTS`; a mixture with its number: "ethanol-75" (per cent by mass),
            "ethanol-95vol" (per cent by volume at 20 degC, as on most labels).
    Returns:
        The liquid. [-]
    Raises:
        OutOfDomain: no such liquid (the nearest names are told), or a mixture without a sound number.

    >>> round(float(fluid("water").rho(293.15, 101325.0)), 3)
    998.207
    """
    recipe = PROPELLANTS.get(name)
    if recipe is not None and not recipe.mixture:
        return recipe.fluid(name=name, title=recipe.title, mass_fraction=None)
    for mixture in PROPELLANTS.values():
        match = mixture.mixture and re.fullmatch(rf"{mixture.mixture}-(\d+(?:\.\d+)?)(vol)?", name)
        if match:
            share = float(match[1]) / 100
            if not 0 <= share <= 1:
                raise OutOfDomain("propellant", name, "between 0 and 100 per cent")
            w = mass_fraction_from_volume(volume_share=share) if match[2] else share
            return mixture.fluid(
                name=name, title=f"{mixture.title}, {100 * w:.4g} % by mass", mass_fraction=w
            )
    raise OutOfDomain("propellant", repr(name), f"one of {', '.join(_names())}", _hint(name))


def _names() -> list[str]:
    return [f"{one.mixture}-75" if one.mixture else one.name for one in PROPELLANTS.values()]


def _hint(name: str) -> str:
    for mixture in PROPELLANTS.values():
        if mixture.mixture and (name == mixture.name or name.startswith(mixture.mixture)):
            start = mixture.mixture
            return f'say its strength: "{start}-75" is 75 % by mass, "{start}-95vol" is 95 % by volume'
    near = difflib.get_close_matches(name.lower(), _names(), n=2, cutoff=0.4)
    return f"nearest: {', '.join(near)}" if near else ""
