"""Sixty demo folders mangled as files get mangled: each ends with words and a code, none with a traceback."""

import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from support.commands import headrace

Generator = np.random.Generator


def _lines(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


def cut_short(path: Path, rng: Generator) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: int(rng.integers(0, len(data)))])


def lose_line(path: Path, rng: Generator) -> None:
    lines = _lines(path)
    del lines[int(rng.integers(0, len(lines)))]
    path.write_bytes(b"".join(lines))


def double_line(path: Path, rng: Generator) -> None:
    lines = _lines(path)
    at = int(rng.integers(0, len(lines)))
    lines.insert(at, lines[at])
    path.write_bytes(b"".join(lines))


def swap_lines(path: Path, rng: Generator) -> None:
    lines = _lines(path)
    a, b = rng.integers(0, len(lines), 2)
    lines[a], lines[b] = lines[b], lines[a]
    path.write_bytes(b"".join(lines))


def flip_bytes(path: Path, rng: Generator) -> None:
    data = bytearray(path.read_bytes())
    for at in rng.integers(0, len(data), 5):
        data[at] = int(rng.integers(0, 256))
    path.write_bytes(data)


def other_digits(path: Path, rng: Generator) -> None:
    data = bytearray(path.read_bytes())
    places = [at for at, byte in enumerate(data) if chr(byte).isdigit()]
    for at in rng.choice(places, min(4, len(places))):
        data[at] = ord(str(rng.integers(0, 10)))
    path.write_bytes(data)


def other_value(path: Path, rng: Generator) -> None:
    lines = _lines(path)
    keyed = [at for at, line in enumerate(lines) if b" = " in line]
    at = int(rng.choice(keyed)) if keyed else 0
    values = (
        b'"?"',
        b'""',
        b"[]",
        b"{}",
        b"-1",
        b"nan",
        b"true",
        b'"0 bar(g)"',
        b'"1e400 bar(a)"',
        b'["ox", "fuel"]',
    )
    lines[at] = lines[at].split(b" = ")[0] + b" = " + values[int(rng.integers(0, len(values)))] + b"\n"
    path.write_bytes(b"".join(lines))


def gone(path: Path, _: Generator) -> None:
    path.unlink()


def a_folder(path: Path, _: Generator) -> None:
    path.unlink()
    path.mkdir()


def emptied(path: Path, _: Generator) -> None:
    path.write_bytes(b"")


MANGLES: tuple[Callable[[Path, Generator], None], ...] = (
    cut_short, lose_line, double_line, swap_lines, flip_bytes, other_digits, other_value, other_value, gone, a_folder,
    emptied,
)  # fmt: skip
COUNT = 60


@pytest.mark.parametrize("seed", range(COUNT))
def test_a_mangled_folder_ends_in_words(small: Path, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(small.parent))  # where a fault of ours would be written down
    rng = np.random.default_rng([seed, 4711])
    files = sorted(path for path in small.rglob("*") if path.is_file() and path.name != "truth.json")
    texts = [path for path in files if path.suffix == ".toml"]
    for mangle in rng.choice(len(MANGLES), int(rng.integers(1, 4))):
        pool = texts if rng.random() < 0.8 else files
        path = pool[int(rng.integers(0, len(pool)))]
        if path.is_file() and path.stat().st_size:
            MANGLES[mangle](path, rng)
    checked = headrace("check", small)
    asked = headrace(*(("reduce", "setpoints")[seed % 2], small, "--json"))
    assert checked.code in (0, 1, 2)
    assert asked.code in (0, 1, 2), asked.err
    assert asked.out.startswith("{")
    if checked.code == 2:
        assert asked.code == 2
        assert "headrace: " in checked.err
