"""Ten thousand damaged folders and logger files, held against what must hold of every end: see tests/support.

Run by itself with the numbers of folders and of logger files: `python benchmarks/mangled.py 100 400`.
"""

import multiprocessing
import resource
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from itertools import repeat
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from support import mangled_runs

FOLDERS, LOGGERS = 3000, 7000
PROCESSES = 2
BLOCK = 100
ROOM = 8 << 30
"""Bytes of address space of a worker: what asks for more is a breach, not a machine that stands still."""

_base: list[object] = []


def judged(folders: int = FOLDERS, loggers: int = LOGGERS) -> tuple[int, list[str]]:
    """How many ends broke a promise, and lines that count the ends and name each breach."""
    jobs = [("folder", range(at, min(at + BLOCK, folders))) for at in range(0, folders, BLOCK)]
    jobs += [("logger", range(at, min(at + BLOCK, loggers))) for at in range(0, loggers, BLOCK)]
    counts: dict[str, Counter[str]] = {"folder": Counter(), "logger": Counter()}
    lines: list[str] = []
    begun = perf_counter()
    with tempfile.TemporaryDirectory(prefix="mangled-") as home:
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(PROCESSES, mp_context=context) as pool:
            for kind, words, breaches in pool.map(_block, jobs, repeat(home)):
                counts[kind] += words
                lines += breaches
    told = [
        f"  {counts[kind].total():5d} {what}: "
        + ", ".join(f"{count} {word}" for word, count in counts[kind].most_common())
        for kind, what in (("folder", "campaign folders"), ("logger", "logger files"))
    ]
    told.append(f"  {'all of them:':45s} {perf_counter() - begun:7.1f} s")
    return len(lines), [*told, *(f"  BREACH {line}" for line in lines)]


def _block(job: tuple[str, range], home: str) -> tuple[str, Counter[str], list[str]]:
    """Damage one block of seeds in a worker; the clean campaign is written once in each."""
    kind, seeds = job
    if not _base:
        resource.setrlimit(resource.RLIMIT_AS, (ROOM, ROOM))
        clean = Path(tempfile.mkdtemp(dir=home)) / "clean"
        _base.append((clean, mangled_runs.base(clean)))
    clean, known = _base[0]
    files = mangled_runs.sources(clean)
    found = [
        mangled_runs.folder(clean, known, seed, clean.parent)
        if kind == "folder"
        else mangled_runs.logger(files, clean, seed, clean.parent)
        for seed in seeds
    ]
    return (
        kind,
        Counter(one.word or "broken off" for one in found),
        [str(one) for one in found if one.breaches],
    )


if __name__ == "__main__":
    broken, said = judged(*map(int, sys.argv[1:]))
    print("\n".join(said))
    sys.exit(1 if broken else 0)
