"""Writing that a power cut cannot spoil: a file is there whole or not at all, and nothing that exists is lost.

Bytes go to a hidden file beside their place, are forced to disk, and take their name in one step. What must appear
together is written into a hidden folder that takes its name in one step (`together`). Names that begin with a dot are
ignored by every reader, so what a cut leaves behind does no harm.
"""

import hashlib
import os
import shutil
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from headrace.errors import InputError, Problem

WAITING = 4


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file whole, in place of an older one of that name if there is one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        _to_disk(part, data)
        os.replace(part, path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _settle(path.parent)


def write_text(path: Path, text: str) -> None:
    """Write a text file whole, as UTF-8 with plain line ends."""
    write_bytes(path, text.encode("utf-8"))


@contextmanager
def together(folder: Path) -> Iterator["Beside"]:
    """Make a new folder with files that are written on the way, all of them or none.

    Raises:
        InputError: there is something of that name already; it is left as it is.
    """
    if folder.exists():
        raise taken(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    shutil.rmtree(part, ignore_errors=True)  # of a process that was cut and had this number
    try:
        part.mkdir()
        with ThreadPoolExecutor(1) as pool:
            beside = Beside(part, pool)
            with beside.open:
                yield beside
            beside.settled()
        _settle(part)
        os.replace(part, folder)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    _settle(folder.parent)


@contextmanager
def added(folder: Path, last: str) -> Iterator["Beside"]:
    """Add files to a folder that is there, all of them or none; `last` goes in place of the one of that name.

    It comes last and is what makes the others count: where only they arrived, nothing speaks of them yet.
    """
    part = folder / f".added.{os.getpid()}.part"
    done: list[Path] = []
    shutil.rmtree(part, ignore_errors=True)  # of a process that was cut and had this number
    try:
        part.mkdir()
        with ThreadPoolExecutor(1) as pool:
            beside = Beside(part, pool)
            with beside.open:
                yield beside
            beside.settled()
        _settle(part)
        for made in sorted(part.iterdir(), key=lambda one: (one.name == last, one.name)):
            place = folder / made.name
            if made.name != last:
                done.append(place)
            else:
                _settle(folder)
            os.replace(made, place)
    except BaseException:
        for place in done:
            place.unlink(missing_ok=True)
        shutil.rmtree(part, ignore_errors=True)
        raise
    shutil.rmtree(part, ignore_errors=True)
    _settle(folder)


@dataclass(slots=True)
class Beside:
    """A hidden folder on its way to a place of its own; files are forced to disk while others are written."""

    place: Path
    pool: Executor
    waits: list[Future[None]] = field(default_factory=list)
    open: ExitStack = field(default_factory=ExitStack)

    def write(self, name: str, data: bytes) -> None:
        """One file."""
        with (self.place / name).open("wb") as handle:
            handle.write(data)
        self.waits.append(self.pool.submit(_forced, self.place / name))

    def receive(self, source: Path) -> "Copy":
        """A file of this folder that is given its bytes piece by piece, as they are read from `source`."""
        made = self.open.enter_context((self.place / source.name).open("wb"))
        return Copy(source, made, self)

    def settled(self) -> None:
        """Wait until all is on disk."""
        while self.waits:
            self.waits.pop().result()


@dataclass(slots=True)
class Copy:
    """A copy on its way: written and hashed beside what else is done with the bytes."""

    source: Path
    made: BinaryIO
    beside: Beside
    seen: Any = field(default_factory=hashlib.sha256)

    def take(self, data: bytes) -> None:
        """The next piece; few wait for a slow disk at a time."""
        while len(self.beside.waits) >= WAITING:
            self.beside.waits.pop(0).result()
        self.beside.waits.append(self.beside.pool.submit(self._both, data))

    def _both(self, data: bytes) -> None:
        self.seen.update(data)
        self.made.write(data)

    def done(self) -> str:
        """All pieces were given: the copy gets the times of its source. The hash of its bytes."""
        self.beside.settled()
        self.made.close()
        was = self.source.stat()
        os.utime(self.made.name, ns=(was.st_atime_ns, was.st_mtime_ns))
        self.beside.waits.append(self.beside.pool.submit(_forced, Path(self.made.name)))
        return str(self.seen.hexdigest())


def taken(path: Path) -> InputError:
    """The refusal to write over something."""
    return InputError((Problem(file=path.name, line=None, key="", found="something of that name already",
                               expected="a free name: nothing is written over", try_="another name"),))  # fmt: skip


def sidecar(name: str, sha256: str) -> bytes:
    """What stands in `<name>.sha256`, in the form that the usual tools check."""
    return f"{sha256}  {name}\n".encode()


def _forced(path: Path) -> None:
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _to_disk(path: Path, data: bytes) -> None:
    with path.open("wb") as handle:
        handle.write(data)
        handle.flush()
        os.fsync(handle.fileno())


def _settle(folder: Path) -> None:
    """Force a folder's list of names to disk, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
