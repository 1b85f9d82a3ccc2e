"""Keys are found in their lines, and no folder, however mangled, ends in anything but told problems."""

import random
import tomllib
from pathlib import Path
from typing import Any

import pytest

from headrace.errors import InputError, Problem
from headrace.files.check import check
from headrace.files.folder import read
from headrace.files.locate import key_lines
from headrace.files.new import FILES, starter, uncommented
from support import golden_folder

TEXTS = {
    **{name: text for name, text in golden_folder.files().items() if name.endswith(".toml")},
    **{f"starter {name}": uncommented(starter(name)) for name in FILES},
}


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], Any]]:
    if isinstance(value, dict):
        return [leaf for key, one in value.items() for leaf in leaves(one, (*path, key))]
    if isinstance(value, list):
        return [leaf for index, one in enumerate(value) for leaf in leaves(one, (*path, index))]
    return [(path, value)]


@pytest.mark.parametrize("name", TEXTS)
def test_every_value_is_found_in_its_line(name: str) -> None:
    text = TEXTS[name]
    lines = key_lines(text)
    rows = text.split("\n")
    for path, value in leaves(tomllib.loads(text)):
        row = rows[lines[path] - 1]
        key = next(part for part in reversed(path) if isinstance(part, str))
        assert key in row
        if isinstance(value, str):
            assert f'"{value}"' in row


ODD = '''\
"a.b".'c d' = """one # no comment
two \\""" still
"""
x = [ # comment ] "
  1, { y = "]}", z.w = 2 },
  [3,
   4],
]
[[t]]
n = 1
  [t.u]
  v = \'\'\'it's
  here\'\'\'
[[t]]
[[t.s]]
k = "\\u00b1"   # ± and a "quote"
[[t.s]]
k = 2026-01-01
'''


def test_odd_toml_is_walked_right() -> None:
    data = tomllib.loads(ODD)
    lines = key_lines(ODD)
    assert {path for path, _ in leaves(data)} <= set(lines)
    wanted = {("a.b", "c d"): 1, ("x", 0): 5, ("x", 1, "z", "w"): 5, ("x", 2, 1): 7, ("t", 0, "n"): 10,
              ("t", 0, "u", "v"): 12, ("t", 1): 14, ("t", 1, "s", 0, "k"): 16, ("t", 1, "s", 1, "k"): 18}  # fmt: skip
    assert {path: lines[path] for path in wanted} == wanted
    crlf = key_lines(ODD.replace("\n", "\r\n"))
    assert {path: crlf[path] for path in wanted} == wanted


SCRAPS = ["?", '"?"', "[", "]", "{}", '""', "0", "-1", "nan", "1e999", "true", "[[x]]", "\x00", "é", "= =", '"1 bar"',
          "2026-01-01", "9" * 30, "[" * 60, '"""', "[[flow]]", '"1 bar(g)"', '"a\\nb"', "\u2028",
     "[channels]\n"]  # fmt: skip


def mangled(rng: random.Random) -> dict[str, str]:
    """A few files of the golden folder, each with something cut, doubled, swapped or put in."""
    files = golden_folder.files()
    out: dict[str, str] = {}
    for name in rng.sample(sorted(files), rng.randint(1, 3)):
        rows = files[name].split("\n")
        for _ in range(rng.randint(1, 4)):
            at = rng.randrange(len(rows))
            kind = rng.randrange(6)
            if kind == 0:
                del rows[at : at + rng.randint(1, 4)]
            elif kind == 1:
                rows.insert(at, rows[rng.randrange(len(rows))])
            elif kind == 2 and "=" in rows[at]:
                rows[at] = rows[at].split("=")[0] + "= " + rng.choice(SCRAPS)
            elif kind == 3:
                rows[at] = rows[at][: rng.randrange(len(rows[at]) + 1)]
            elif kind == 4:
                cut = rng.randrange(len(rows[at]) + 1)
                rows[at] = rows[at][:cut] + rng.choice(SCRAPS) + rows[at][cut:]
            else:
                other = rng.randrange(len(rows))
                rows[at], rows[other] = rows[other], rows[at]
            rows = rows or [""]
        out[name] = "\n".join(rows)
    return out


def faults(folder: Path) -> tuple[Problem, ...]:
    try:
        read(folder)
    except InputError as error:
        return error.problems or pytest.fail("an InputError without a problem")
    return ()


@pytest.mark.parametrize("block", range(5))
def test_mangled_folders_end_in_told_problems(block: int, tmp_path: Path) -> None:
    told = 0
    for seed in range(40 * block, 40 * block + 40):
        folder = tmp_path / str(seed)
        files = mangled(random.Random(seed))
        golden_folder.write(folder, dict(files))
        problems = faults(folder)
        told += bool(problems)
        assert all(one.file and one.found and one.expected and str(one) for one in problems)
    assert told > 20


@pytest.mark.parametrize("kind", ["directory", "binary", "huge", "deep"])
def test_files_that_are_no_text_are_told(kind: str, tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path, {"bench.toml": None})
    path = folder / "bench.toml"
    if kind == "directory":
        path.mkdir()
    else:
        path.write_bytes(
            {"binary": bytes(range(256)), "huge": b"#" * 4_000_001, "deep": b"a = " + b"[" * 5000}[kind]
        )
    assert "bench.toml" in {one.file for one in check(folder).problems}
