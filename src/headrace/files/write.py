"""Writing that a power cut cannot spoil: a file is there whole or not at all, and nothing that exists is lost.

Bytes go to a hidden file beside their place, are forced to disk, and take their name in one step. What must appear
together is written into a hidden folder that takes its name in one step (`together`). Names that begin with a dot are
ignored by every reader, so what a cut leaves behind does no harm.
"""

import hashlib
import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from headrace.errors import InputError, Problem


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


def together(folder: Path, files: Mapping[str, bytes]) -> None:
    """Make a new folder with these files, all of them or none.

    Raises:
        InputError: there is something of that name already; it is left as it is.
    """
    if folder.exists():
        raise taken(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    try:
        part.mkdir()
        for name, data in files.items():
            _to_disk(part / name, data)
        _settle(part)
        os.replace(part, folder)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    _settle(folder.parent)


def taken(path: Path) -> InputError:
    """The refusal to write over something."""
    return InputError((Problem(file=path.name, line=None, key="", found="something of that name already",
                               expected="a free name: nothing is written over", try_="another name"),))  # fmt: skip


def sidecar(name: str, data: bytes) -> bytes:
    """What stands in `<name>.sha256`, in the form that the usual tools check."""
    return f"{hashlib.sha256(data).hexdigest()}  {name}\n".encode()


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
