"""Damage as disks, editors, spreadsheets and people do it, by seed: bytes, lines, numbers, units, keys, whole files.

`BYTES` change what a file holds, `TREE` what stands in its place. `damage` picks one or a few and does them to a
folder; what it did is told by `Done`, so that a result can be held against it.
"""

import hashlib
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random

NUMBER = re.compile(rb"[-+]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
UNIT = re.compile(rb"\b(?:bar|mbar|kPa|psi|degC|K|mm|m|s|ms|kg|m3|L|kg/s|mA|Pa|m2)\b")
KEY = re.compile(rb"^[ \t]*([\"\w.-][\"\w. -]{0,60}?)[ \t]*=", re.M)
UNITS = (b"bar", b"mbar", b"kPa", b"psi", b"degC", b"degF", b"K", b"mm", b"m", b"in", b"s", b"min", b"kg", b"lb", b"L",
         b"%", b"parsec", b"", "°C".encode("cp1252"), "µm".encode())  # fmt: skip
FORMS: tuple[Callable[[bytes], bytes], ...] = (
    lambda text: text.replace(b".", b""), lambda text: text.replace(b".", b","), lambda _: b"1e9", lambda _: b"nan",
    lambda _: b"-", lambda text: b"-" + text, lambda _: b"0", lambda _: b"inf", lambda _: b"", lambda text: text[1:],
    lambda text: text + b"0", lambda text: text + b"." + text, lambda _: b"1e400", lambda _: b"9" * 400,
    lambda text: b" " + text, lambda _: b"#REF!", lambda _: b"0x1F", lambda _: b"1_000", lambda _: "１２".encode(),
    lambda text: text[:-1] + b"7", lambda _: b"true",
)  # fmt: skip
SCRAPS = (b"?", b'"?"', b"[", b"]", b"{}", b'""', b"0", b"-1", b"nan", b"true", b"[[x]]", b"\x00", b"\xff\xfe", b"= =",
          b'"1 bar"', b"2026-01-01", b"0001-01-01", b"9" * 30, b'"""', b'"1 bar(g)"', b'["ox", "fuel"]', b"[]",
          b'"0 bar(g)"', b'"1e400 bar(a)"', b"\xe2\x80\xa8", b'"a\\nb"', b'"' + b"x" * 300 + b'"', b"9999-12-31",
          b"25:61", b'"./../bench.toml"', b'"\\u0000"', b"1979-05-27T07:32:00Z")  # fmt: skip

Bytes = Callable[[bytes, Random], bytes]


def lines_of(data: bytes) -> list[bytes]:
    """Lines with their ends."""
    return data.splitlines(keepends=True) or [b""]


def at_a_match(pattern: re.Pattern[bytes], data: bytes, rng: Random, new: Callable[[bytes], bytes]) -> bytes:
    """One match of a pattern, put anew."""
    found = list(pattern.finditer(data))
    if not found:
        return data
    one = rng.choice(found)
    start, end = one.span(1) if pattern.groups else one.span()
    return data[:start] + new(data[start:end]) + data[end:]


def flipped(data: bytes, rng: Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        if out:
            out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def inserted(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + bytes(rng.randrange(256) for _ in range(rng.randint(1, 6))) + data[at:]


def cut_out(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + data[at + rng.randint(1, max(len(data) // 8, 1)) :]


def cut_short(data: bytes, rng: Random) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def doubled(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + data[at : at + rng.randint(1, max(len(data) // 4, 1))] * 2 + data[at:]


def swapped(data: bytes, rng: Random) -> bytes:
    lines = lines_of(data)
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[one], lines[two] = lines[two], lines[one]
    return b"".join(lines)


def repeated(data: bytes, rng: Random) -> bytes:
    lines = lines_of(data)
    at = rng.randrange(len(lines))
    return b"".join([*lines[:at], *lines[at : at + rng.randint(1, 9)], *lines[at:]])


def lost(data: bytes, rng: Random) -> bytes:
    lines = lines_of(data)
    at = rng.randrange(len(lines))
    return b"".join(lines[:at] + lines[at + rng.randint(1, 5) :])


def renumbered(data: bytes, rng: Random) -> bytes:
    for _ in range(rng.randint(1, 3)):
        data = at_a_match(NUMBER, data, rng, rng.choice(FORMS))
    return data


def other_digit(data: bytes, rng: Random) -> bytes:
    return at_a_match(re.compile(rb"\d"), data, rng, lambda _: b"%d" % rng.randrange(10))


def other_unit(data: bytes, rng: Random) -> bytes:
    return at_a_match(UNIT, data, rng, lambda _: rng.choice(UNITS))


def other_key(data: bytes, rng: Random) -> bytes:
    return at_a_match(
        KEY, data, rng, lambda text: rng.choice((text[::-1], text + b"x", b"tag", b'""', text.upper()))
    )


def other_value(data: bytes, rng: Random) -> bytes:
    lines = lines_of(data)
    keyed = [at for at, line in enumerate(lines) if b"=" in line] or [0]
    at = rng.choice(keyed)
    lines[at] = lines[at].split(b"=")[0] + b"= " + rng.choice(SCRAPS) + b"\n"
    return b"".join(lines)


def scrap(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.choice(SCRAPS) + data[at:]


def encoded(data: bytes, rng: Random) -> bytes:
    text = data.decode("utf-8", errors="replace")
    name = rng.choice(("cp1252", "utf-16", "utf-8-sig", "utf-16-be", "cp437"))
    return text.encode(name, errors="replace")


def nulled(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + b"\x00" * rng.choice((1, 3, 512)) + data[at + rng.choice((0, 1, 512)) :]


def line_ends(data: bytes, rng: Random) -> bytes:
    ends = (b"\n", b"\r\n", b"\r", b"\n\n", b"\n\r")
    if rng.random() < 0.3:
        ends = (rng.choice(ends),)
    return b"".join(line.rstrip(b"\r\n") + rng.choice(ends) for line in lines_of(data))


def long_line(data: bytes, rng: Random) -> bytes:
    lines = lines_of(data)
    at = rng.randrange(len(lines))
    lines[at] = (
        lines[at].rstrip(b"\r\n")
        + rng.choice((b"#", b" ", b"1,", b"x", b"[")) * rng.choice((3000, 200_000))
        + b"\n"
    )
    return b"".join(lines)


def commas(data: bytes, rng: Random) -> bytes:
    one, two = rng.choice(
        ((b",", b";"), (b".", b","), (b",", b"\t"), (b";", b","), (b",", b" "), (b",", b""))
    )
    return data.replace(one, two)


def emptied(_: bytes, rng: Random) -> bytes:
    return rng.choice((b"", b"\n", b" ", b"\x00" * 64, b"\xef\xbb\xbf"))


def pointer(data: bytes, _: Random) -> bytes:
    return f"version 1\nkept-as sha256:{hashlib.sha256(data).hexdigest()}\nsize {len(data)}\n".encode()


BYTES: dict[str, Bytes] = {
    one.__name__: one for one in (
        flipped, inserted, cut_out, cut_short, doubled, swapped, repeated, lost, renumbered, other_digit, other_unit,
        other_key, other_value, scrap, encoded, nulled, line_ends, long_line, commas, emptied, pointer,
    )
}  # fmt: skip


def gone(path: Path, _: Random) -> None:
    path.unlink()


def a_folder(path: Path, rng: Random) -> None:
    data = path.read_bytes()
    path.unlink()
    path.mkdir()
    if rng.random() < 0.5:
        (path / path.name).write_bytes(data)


def to_nowhere(path: Path, rng: Random) -> None:
    path.unlink()
    path.symlink_to(rng.choice(("nowhere", path.name, "/dev/null", "/dev/zero", "..")))


def a_pipe(path: Path, _: Random) -> None:
    path.unlink()
    os.mkfifo(path)


def renamed(path: Path, rng: Random) -> None:
    odd = (
        "ö µ.toml",
        "new\nline",
        "-rf",
        ".hidden",
        "a" * 200,
        "\udcff.csv",
        "CON",
        "a;b",
        path.name.upper(),
        " ",
    )
    path.rename(path.with_name(rng.choice(odd)))


def doubled_file(path: Path, rng: Random) -> None:
    odd = (
        "copy of " + path.name,
        path.name + "~",
        path.stem,
        "ö\n\udcfe",
        "x.toml",
        "x.sha256",
        "x.json",
        "x.pdf",
    )
    shutil.copy2(path, path.with_name(rng.choice(odd)))


def stray_run(path: Path, rng: Random) -> None:
    home = path if path.is_dir() else path.parent
    name = rng.choice(("W99", "a\nb", "ö", "W 1", " ", "-x", "W01.bak", "run.toml", "\udcff", "x" * 200))
    target = home / name
    if not target.exists():
        target.mkdir()
        if rng.random() < 0.7:
            shutil.copy2(path, target / "run.toml")


def unreadable(path: Path, _: Random) -> None:
    path.chmod(0)


TREE: dict[str, Callable[[Path, Random], None]] = {
    one.__name__: one for one in (gone, a_folder, to_nowhere, a_pipe, renamed, doubled_file, stray_run, unreadable)
}  # fmt: skip
CLOCK = ("ahead", "back", "zero")
"""Times of files that no clock should have given them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One damage. kind: of `BYTES`, `TREE`, or `clock`; file: relative; how: "", "resealed" or "unseen"."""

    kind: str
    file: str
    how: str = ""

    def __str__(self) -> str:
        return f"{self.kind} {self.how + ' ' if self.how else ''}{self.file!r}"


def pool_of(name: str) -> str:
    """What a file of a campaign is to the reader."""
    if name.startswith("results/"):
        return "derived"
    if name.startswith("signed/"):
        return "signed"
    if name.endswith(".sha256"):
        return "seal"
    return "text" if name.endswith(".toml") else "raw"


def files_of(folder: Path) -> dict[str, bytes]:
    """Every plain file of a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


WEIGHTS = {"text": 9, "raw": 4, "seal": 1, "derived": 3, "signed": 1}


def damage(folder: Path, seed: int) -> tuple[Done, ...]:
    """Damage a campaign folder; the same seed does the same to the same folder."""
    rng = Random(f"folder {seed}")
    done: list[Done] = []
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3))):
        pools: dict[str, list[str]] = {}
        for name in files_of(folder):
            pools.setdefault(pool_of(name), []).append(name)
        weights = [WEIGHTS[one] for one in pools]
        if not pools:
            break
        name = rng.choice(pools[rng.choices(list(pools), weights)[0]])
        one = one_damage(folder, name, rng)
        if one is not None:
            done.append(one)
    return tuple(done)


def one_damage(folder: Path, name: str, rng: Random) -> Done | None:
    """Damage one file; None where the bytes came out as they were."""
    path = folder / name
    roll = rng.random()
    if roll < 0.14:
        kind = rng.choice(list(TREE))
        TREE[kind](path, rng)
        return Done(kind=kind, file=name)
    if roll < 0.18:
        kind = rng.choice(CLOCK)
        at = {"ahead": 4_000_000_000, "back": 100_000_000, "zero": 0}[kind]
        os.utime(path, (at, at))
        return Done(kind="clock", file=name, how=kind)
    kind = rng.choice(list(BYTES))
    before, was = path.read_bytes(), path.stat()
    data = BYTES[kind](before, rng)
    if data == before:
        return None
    path.write_bytes(data)
    os.utime(path, ns=(was.st_atime_ns, was.st_mtime_ns + 1_000_000_007))
    how = ""
    if pool_of(name) == "raw" and rng.random() < 0.5:
        how = "resealed"
        seal = path.with_name(path.name + ".sha256")
        if seal.is_file():
            seal.write_text(f"{hashlib.sha256(data).hexdigest()}  {path.name}\n")
    elif len(data) == len(before) and rng.random() < 0.5:
        how = "unseen"
        os.utime(path, ns=(was.st_atime_ns, was.st_mtime_ns))
    return Done(kind=kind, file=name, how=how)


def damaged_bytes(data: bytes, seed: int) -> tuple[bytes, tuple[str, ...]]:
    """A logger file damaged one to three times over, and how."""
    rng = Random(f"logger {seed}")
    kinds = [rng.choice(list(BYTES)) for _ in range(rng.choice((1, 1, 2, 3)))]
    for kind in kinds:
        data = BYTES[kind](data, rng)
    return data, tuple(kinds)
