"""The raw files of the invented campaign are read by the family and the dialect in which they were written."""

from pathlib import Path

import pytest

from headrace.demo import scenario
from headrace.files.bring import look

WRITTEN = {  # encoding, delimiter, decimal, column and unit of the clock, lines above the rows, blocks
    "semicolon": ("latin-1", "semicolon", "comma", "Zeit", "s", 6, 1),
    "iso": ("utf-8", "comma", "point", "timestamp", "iso", 1, 1),
    "tab-clock": ("utf-8", "tab", "point", "clock", "ms", 1, 2),
}
DIALECT = {run.id: run.dialect for run in scenario.plan().runs if run.method != "by-hand"}


def test_every_file_has_a_dialect_and_every_dialect_a_file(demo_folder: Path) -> None:
    files = {path.parent.name for path in demo_folder.glob("runs/*/*.csv")}
    assert files == set(DIALECT)
    assert len(files) == 15
    assert set(DIALECT.values()) == set(WRITTEN)


@pytest.mark.parametrize("run", DIALECT)
def test_as_it_was_written(run: str, demo_folder: Path) -> None:
    found = look(demo_folder / f"runs/{run}/{run}.csv")
    dialect, clock = found.dialect, found.time
    assert found.family == "delimited"
    assert WRITTEN[DIALECT[run]] == (
        dialect.encoding, dialect.delimiter, dialect.decimal, clock.column, clock.unit, dialect.header_lines,
        len(found.segments),
    )  # fmt: skip
    assert found.questions == ()
    assert found.time.rate == pytest.approx(100.0)
    assert found.rows + found.lines.bad in (1240, 1440)
    assert found.lines.bad == (3 if run == "W13" else 0)  # three lines are spoilt there on purpose
    units = {one.name: one.unit for one in found.columns if one.name != clock.column}
    assert all(unit for unit in units.values())
    assert {"dp venturi A", "p line A"} <= set(units)
