"""One vocabulary: every physical name in the code stands in the glossary, once, with the unit that the code means."""

import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "docs"))

from generators import vocabulary  # noqa: E402 - lives beside the pages it serves

ROW = re.compile(r"^\| `(\w+)` \|([^|]*)\|([^|]*)\|([^|]*)\|([^|]*)\|$", re.MULTILINE)
ROWS = [
    (name, unit.strip(), meaning.strip(), kind.strip())
    for name, _, unit, meaning, kind in ROW.findall((ROOT / "docs/glossary.md").read_text(encoding="utf-8"))
]
UNITS = {name: unit for name, unit, _, _ in ROWS}


def test_no_name_twice() -> None:
    names = [name for name, *_ in ROWS]
    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_every_row_says_unit_and_meaning_and_a_pressure_its_kind() -> None:
    assert [name for name, unit, meaning, _ in ROWS if not (unit and meaning)] == []
    assert [
        name for name, unit, _, kind in ROWS if (unit == "Pa") != (kind in ("abs", "gauge", "drop"))
    ] == []


def test_every_physical_argument_is_in_it_with_its_unit() -> None:
    found = list(vocabulary.arguments(ROOT))
    assert len(found) > 100  # the collector found the functions at all
    missing = sorted({f"{name} ({where})" for name, _, where in found if name not in UNITS})
    assert missing == []
    other = sorted(
        {
            f"{name}: {unit} ({where})"
            for name, unit, where in found
            if unit is not None and unit != UNITS[name]
        }
    )
    assert other == []


@pytest.mark.parametrize("collect", [vocabulary.fields, vocabulary.facts])
def test_every_field_of_a_record_and_every_fact_of_a_notice_is_in_it(collect: vocabulary.Collector) -> None:
    found = list(collect(ROOT))
    assert len(found) > 20
    assert sorted({f"{name} ({where})" for name, where in found if name not in UNITS}) == []


def test_nothing_in_it_has_left_the_code() -> None:
    used = {name for name, *_ in vocabulary.arguments(ROOT)}
    used |= {name for collect in (vocabulary.fields, vocabulary.facts) for name, _ in collect(ROOT)}
    assert sorted(set(UNITS) - used) == []
