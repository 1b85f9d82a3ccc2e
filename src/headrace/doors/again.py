"""What a command said last time, said again at once while nothing it rests on has changed.

Light on purpose: neither numbers nor schemas are loaded. Unchanged means: the same files of the same size and time in
the campaign, the same program, the same libraries, the results still in place. Who wants every byte looked at asks
`check`. Start at `again`.
"""

import hashlib
import io
import json
import os
import shutil
import sys
import sysconfig
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stdout, suppress
from pathlib import Path
from typing import Any

import headrace

PLACE = ("results", "cache")
DERIVED = "results"

Stamps = dict[str, list[int]]


class _Both(io.StringIO):
    """Passes on what is written, keeps it, and is a screen where standard output is one."""

    def __init__(self, out: Any) -> None:
        super().__init__()
        self._out = out

    def write(self, text: str) -> int:
        """Write to both."""
        self._out.write(text)
        return super().write(text)

    def flush(self) -> None:
        """Flush what goes on."""
        self._out.flush()

    def isatty(self) -> bool:
        """As standard output."""
        return bool(self._out.isatty())

    @property
    def encoding(self) -> str:  # type: ignore[override]  # a StringIO has none; rich asks for it
        """As standard output."""
        return getattr(self._out, "encoding", None) or "utf-8"


def again(folder: str, words: Sequence[str], leaves: Sequence[str], work: Callable[[], int]) -> int:
    """Exit code of a command, whose text is repeated where nothing has changed, else done and remembered.

    Args:
        folder: the campaign. words: the command and its options. leaves: what it leaves under results/, which must
            still be there. work: does it, writing to standard output.
    """
    root = Path(folder)
    shelf = root.joinpath(*PLACE)
    key = json.dumps([list(words), _screen()])
    file = shelf / f"{words[0]}-{hashlib.sha256(key.encode()).hexdigest()[:12]}.json"
    try:
        before = _rests_on(root)
        kept = _kept(
            file, {"inputs": before, "program": _program(), "leaves": _stamps(root / DERIVED, leaves)}
        )
    except OSError:
        return work()
    if kept is not None:
        sys.stdout.write(kept["out"])
        return int(kept["code"])
    said = _Both(sys.stdout)
    with redirect_stdout(said):
        code = work()
    _keep(file, root, before, leaves, {"out": said.getvalue(), "code": code})
    return code


def _kept(file: Path, now: dict[str, Any]) -> dict[str, Any] | None:
    try:
        if not file.is_file():  # nothing, or a pipe that would be waited for
            return None
        seal, _, body = file.read_text(encoding="utf-8").partition("\n")
        if hashlib.sha256(body.encode()).hexdigest() != seal:
            return None
        kept = json.loads(body)
    except (OSError, ValueError):
        return None
    return kept["said"] if kept["rests_on"] == now else None


def _keep(file: Path, root: Path, before: Stamps, leaves: Sequence[str], said: dict[str, Any]) -> None:
    """Remember, unless the campaign changed meanwhile or nothing can be written."""
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        if _rests_on(root) != before:
            return
        rests_on = {"inputs": before, "program": _program(), "leaves": _stamps(root / DERIVED, leaves)}
        body = json.dumps({"rests_on": rests_on, "said": said})
        file.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}", encoding="utf-8")
        os.replace(part, file)
    except OSError:
        with suppress(OSError):  # a file where the shelf should be, say
            part.unlink(missing_ok=True)


def _rests_on(root: Path) -> Stamps:
    """Size and time of every file of a campaign but what is derived."""
    return {name: stamp for name, stamp in _walk(root, "") if not name.startswith(f"{DERIVED}/")}


def _walk(folder: Path, prefix: str) -> Iterator[tuple[str, list[int]]]:
    with os.scandir(folder) as found:
        for one in sorted(found, key=lambda one: one.name):
            name = f"{prefix}{one.name}"
            if one.name.startswith(".") or one.name == "__pycache__" or name == DERIVED:
                continue
            if one.is_dir():
                yield from _walk(folder / one.name, f"{name}/")
            else:
                yield name, _stamp(one.stat())


def _stamps(folder: Path, names: Sequence[str]) -> Stamps:
    found: Stamps = {}
    for name in names:
        try:
            found[name] = _stamp((folder / name).stat())
        except FileNotFoundError:
            found[name] = []
    return found


def _stamp(found: os.stat_result) -> list[int]:
    return [found.st_size, found.st_mtime_ns]


def _program() -> str:
    """This program and the libraries beside it, by the times of their files."""
    seen = hashlib.sha256(f"{sys.version} {headrace.__version__}".encode())
    own = Path(headrace.__file__).parent
    seen.update(json.dumps(dict(_walk(own, ""))).encode())
    for place in dict.fromkeys(sysconfig.get_path(name) for name in ("purelib", "platlib")):
        seen.update(f"{place} {Path(place).stat().st_mtime_ns}".encode())
    return seen.hexdigest()


def _screen() -> list[object]:
    """What the look of a text depends on."""
    if not sys.stdout.isatty():
        return []
    return [
        shutil.get_terminal_size().columns,
        *(os.environ.get(name) for name in ("TERM", "NO_COLOR", "COLORTERM")),
    ]
