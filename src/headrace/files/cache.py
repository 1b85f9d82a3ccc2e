"""Raw files as they were read, kept as Parquet under results/cache, so that text is parsed once.

An entry is a folder: record.json says what was read, of which bytes and by which answers; part-*.parquet hold the rows.
It serves as long as size and time of the raw file are those it was made from, or, for a careful reader, the
hash of its bytes is. Every part is checked against its own hash before it is used; what does not fit is read anew.
Where nothing can be written, nothing is kept. Start at `Cache`.
"""

import hashlib
import io
import json
import os
import shutil
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import TypeAdapter, ValidationError

from headrace import __version__
from headrace.files import loggers
from headrace.files.loggers.base import Answers, Floats, Rows, Unreadable
from headrace.files.loggers.delimited import Record, beginning, breaks
from headrace.files.loggers.report import Understanding
from headrace.files.plain import plain
from headrace.files.results import HOME

PLACE = "cache"
PART_ROWS = 1 << 19
LEAST = 1 << 16
"""Bytes from which a raw file is worth keeping."""
FIXED = ("line", "time")


def sha256_of(path: Path) -> str:
    """Hash of a file's bytes."""
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """Size and time of a file, by which its bytes are believed to be unchanged."""

    size: int
    mtime_ns: int

    @classmethod
    def of(cls, path: Path) -> "Stamp":
        """The stamp of a file as it is now."""
        found = path.stat()
        return cls(size=found.st_size, mtime_ns=found.st_mtime_ns)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What record.json says. first: the time of the first row, taken off the times in the parts [s]."""

    stamp: Stamp
    sha256: str
    first: float
    start: str | None
    t0: float | None
    breaks: tuple[int, ...]
    report: Understanding
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cache:
    """The kept records of one campaign folder. believe: unchanged size and time vouch for a file's bytes."""

    root: Path
    believe: bool = True

    def sha256(self, where: str, answers: Answers) -> str:
        """Hash of a raw file, believed from its entry where that may be."""
        entry = self._entry(where, answers) if self.believe else None
        return entry.sha256 if entry is not None else sha256_of(self.root / where)

    def read(self, where: str, answers: Answers, sha256: str) -> Record:
        """The numbers of a raw file, from its entry or from its bytes; then they are kept.

        Args:
            where: the file, relative to the folder. sha256: of its bytes, as `sha256` gave it.
        Raises:
            Unreadable, QuestionsOpen: as `loggers.read`.
        """
        entry = self._entry(where, answers)
        record = None if entry is None or entry.sha256 != sha256 else self._record(where, answers, entry)
        if record is not None:
            return record
        if self.believe and entry is not None and sha256_of(self.root / where) != sha256:
            raise Unreadable("its bytes are not those that were read before, though its size and time are the same",
                             file=where, try_="put the original file back; raw files are never edited")  # fmt: skip
        stamp = Stamp.of(self.root / where)
        record = loggers.read(self.root / where, answers)
        if stamp.size < LEAST:
            return record
        with Keeper(self, where, answers) as keeper:
            keeper.add(np.asarray(record.lines), record.time, list(record.columns.values()))
            keeper.done(stamp=stamp, sha256=sha256, first=0.0, start=record.start, t0=record.t0,
                        breaks=record.breaks, report=record.report)  # fmt: skip
        return record

    def keeper(self, where: str, answers: Answers) -> "Keeper":
        """Writes the entry of a raw file while it is read for the first time."""
        return Keeper(self, where, answers)

    def home(self, where: str, answers: Answers) -> Path:
        """Folder of an entry."""
        said = json.dumps([asdict(answers), reader_version()], sort_keys=True)
        key = hashlib.sha256(said.encode()).hexdigest()[:12]
        return self.root / HOME / PLACE / Path(where).parent.name / f"{Path(where).name}.{key}"

    def _entry(self, where: str, answers: Answers) -> Entry | None:
        try:
            text = plain(self.home(where, answers) / "record.json").read_text(encoding="utf-8")
            seal, _, body = text.partition("\n")
            if hashlib.sha256(body.encode()).hexdigest() != seal:
                return None
            entry = ENTRY.validate_json(body)
            return entry if entry.stamp == Stamp.of(self.root / where) or not self.believe else None
        except (OSError, ValueError, ValidationError):
            return None

    def _record(self, where: str, answers: Answers, entry: Entry) -> Record | None:
        import polars as pl

        frames = []
        for name, seal in entry.parts:
            try:
                data = plain(self.home(where, answers) / name).read_bytes()
                if hashlib.sha256(data).hexdigest() != seal:
                    return None
                frames.append(pl.read_parquet(data))
            except (OSError, pl.exceptions.PolarsError):
                return None
        frame = pl.concat(frames)
        names = entry.report.dialect.names
        if frame.width != len(names) + len(FIXED):
            return None
        return Record(
            time=frame["time"].to_numpy() - entry.first,
            start=entry.start,
            t0=entry.t0,
            columns={name: frame[str(place)].to_numpy().copy() for place, name in enumerate(names)},
            lines=frame["line"].to_numpy(),
            breaks=entry.breaks,
            report=entry.report,
        )


@cache
def reader_version() -> str:
    """What reads the files: another version, or other code, and what was kept is read anew."""
    seen = hashlib.sha256(__version__.encode())
    for path in sorted(Path(loggers.__file__).parent.glob("*.py")):
        seen.update(path.read_bytes())
    return seen.hexdigest()


ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


@dataclass(slots=True)
class Keeper:
    """Writes one entry in bounded memory: rows as they come, then `done`. A disk that refuses keeps nothing.

    Parts are written beside the reading, one behind.
    """

    cache: Cache
    where: str
    answers: Answers
    first: float | None = field(init=False, default=None)
    _part: Path = field(init=False)
    _seals: list[tuple[str, str]] = field(init=False, default_factory=list)
    _held: list[tuple[Any, Floats, list[Floats]]] = field(init=False, default_factory=list)
    _rows: int = field(init=False, default=0)
    _pool: ThreadPoolExecutor = field(init=False)
    _writing: Future[str] | None = field(init=False, default=None)
    _works: bool = field(init=False, default=True)

    def __enter__(self) -> "Keeper":
        home = self.cache.home(self.where, self.answers)
        self._part = home.with_name(f".{home.name}.{os.getpid()}.part")
        self._pool = ThreadPoolExecutor(1)
        try:
            shutil.rmtree(self._part, ignore_errors=True)
            self._part.mkdir(parents=True)
        except OSError:
            self._works = False
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown()
        shutil.rmtree(self._part, ignore_errors=True)

    def take(self, rows: Rows) -> None:
        """Keep a block of rows as a parser gives it."""
        if self.first is None:
            self.first = float(rows.time[0])
        self.add(rows.lines, rows.time, list(rows.values.T))

    def add(self, lines: Any, time: Floats, columns: list[Floats]) -> None:
        """Keep rows; time as on the dialect's axis."""
        if not self._works:
            return
        self._held.append((lines, time, columns))
        self._rows += len(lines)
        if self._rows >= PART_ROWS:
            self._flush()

    def looked(self, path: Path, sha256: str, report: Understanding) -> None:
        """The entry takes its place once a file was looked at whole, unless the file is small or something is open.

        path: the file as it goes to its place, with size and time unchanged.
        """
        stamp = Stamp.of(path)
        if self.first is not None and not report.questions and stamp.size >= LEAST:
            start, t0 = beginning(report, self.first)
            self.done(stamp=stamp, sha256=sha256, first=self.first, start=start, t0=t0, breaks=breaks(report),
                      report=report)  # fmt: skip

    def done(self, **said: Any) -> None:
        """The entry takes its place. said: the fields of `Entry` but `parts`."""
        self._flush()
        self._await()
        if not self._works or not self._seals:
            return
        body = ENTRY.dump_json(Entry(parts=tuple(self._seals), **said)).decode()
        home = self.cache.home(self.where, self.answers)
        try:
            text = f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}"
            (self._part / "record.json").write_text(text, encoding="utf-8")
            shutil.rmtree(home, ignore_errors=True)
            os.replace(self._part, home)
        except OSError:
            self._works = False

    def _flush(self) -> None:
        self._await()
        if not self._works or not self._rows:
            return
        name = f"part-{len(self._seals):03d}.parquet"
        self._writing = self._pool.submit(_write, self._part / name, self._held)
        self._held, self._rows = [], 0

    def _await(self) -> None:
        if self._writing is None:
            return
        try:
            self._seals.append((f"part-{len(self._seals):03d}.parquet", self._writing.result()))
        except OSError:
            self._works = False
        self._writing = None


def _write(path: Path, held: list[tuple[Any, Floats, list[Floats]]]) -> str:
    """Write one part; the hash of its bytes."""
    import polars as pl

    frame = pl.concat([
        pl.DataFrame({"line": lines, "time": time, **{str(n): one for n, one in enumerate(columns)}})
        for lines, time, columns in held
    ])  # fmt: skip
    buffer = io.BytesIO()
    frame.write_parquet(buffer, compression="snappy", statistics=False)
    data = buffer.getbuffer()
    path.write_bytes(data)
    return hashlib.sha256(data).hexdigest()
