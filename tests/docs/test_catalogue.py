"""Every published check that a test is marked with is in the catalogue, and the other way round."""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "docs"))

from generators import checks  # noqa: E402 - lives beside the pages it serves

CATALOGUE = checks.catalogue(ROOT)
MARKED = checks.marked(ROOT)
KINDS = {"seen", "computed", "identity", "memory"}


def test_every_marked_id_is_in_the_catalogue() -> None:
    assert sorted(set(MARKED) - set(CATALOGUE["check"])) == []


def test_every_id_of_the_catalogue_has_a_test() -> None:
    assert sorted(set(CATALOGUE["check"]) - set(MARKED)) == []


def test_every_row_says_what_by_which_source_and_how_it_is_known() -> None:
    for name, row in CATALOGUE["check"].items():
        assert re.fullmatch(r"[A-Z]-\d+", name)
        assert row["what"], name
        assert row["source"], name
        assert set(row["kind"].split("+")) <= KINDS, name
        assert set(row) <= {"what", "source", "kind", "with"}, name


def test_every_source_is_used() -> None:
    used = {row["source"] for row in CATALOGUE["check"].values()}
    assert sorted(set(CATALOGUE["source"]) - used) == []


def test_what_is_left_out_is_not_tested_after_all() -> None:
    left = [name.strip() for names in CATALOGUE["left_out"] for name in names.split(",")]
    assert len(left) == len(set(left))
    assert sorted(set(left) & set(MARKED)) == []


def test_marks_stand_in_tests_of_published_sources() -> None:
    places = {test.partition("::")[0] for tests in MARKED.values() for test in tests}
    known = {path.name for path in (ROOT / "tests/sources").glob("test_*.py")}
    assert sorted(places - known) == []
