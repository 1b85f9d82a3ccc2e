"""A logger file into the campaign: copied byte for byte, sealed with its hash, understood, and its run.toml drafted.

What the bytes do not say is asked with "?" in the draft, never guessed. The run appears in one step, or not at all, and
while a "?" is left it is not used. `look` only looks.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from headrace.errors import InputError, Problem
from headrace.files import loggers
from headrace.files.cache import Cache
from headrace.files.caught import roles_of
from headrace.files.document import read_document
from headrace.files.drafts import around_of, draft, mapped_columns, unmapped
from headrace.files.loggers.base import Answers
from headrace.files.loggers.report import Understanding, segment_question
from headrace.files.schema.fields import ID
from headrace.files.schema.run import LoggerTable
from headrace.files.traces import row_by_row, sealed_hash
from headrace.files.write import sidecar, taken, together


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What was brought in, and what was made of it.

    run: id. file: raw file, relative to the campaign. mapped: column to instrument, as drafted; unmapped: the
    other columns.
    draft: text of run.toml. notes: sentences for the reader. also: "also." where its tables stand in an [[also]].
    """

    run: str
    file: str
    sha256: str
    understanding: Understanding
    mapped: Mapping[str, str]
    unmapped: tuple[str, ...]
    draft: str
    notes: tuple[str, ...] = ()
    also: str = ""


def look(file: Path | str, answers: Answers | None = None) -> Understanding:
    """What a logger file holds; nothing is written.

    Raises:
        headrace.files.loggers.base.Unreadable: with the reason.
    """
    found = loggers.look(Path(file), answers or Answers())
    if answers is None and roles_of(found) is not None:
        return loggers.look(Path(file), row_by_row(LoggerTable()))
    return asking(found)


def asking(found: Understanding) -> Understanding:
    """What was found, with the question which run of the logger is meant."""
    question = segment_question(found)
    return found if question is None else replace(found, questions=(*found.questions, question))


def bring(folder: Path | str, file: Path | str, *, run: str | None = None) -> Brought:
    """Bring a logger file into a campaign as a new run.

    Args:
        folder: the campaign. file: the logger file, which stays where it is.
        run: id; default: the next free W01, W02 ...
    Raises:
        InputError: no campaign there, the file is unreadable (with the reason), or the run exists; nothing was written.
    """
    root, source = at_home(folder, file)
    name = run if run is not None else next_run(root)
    if not re.fullmatch(ID, name) or name != name.strip():
        raise InputError((Problem(file="", line=None, key="run", found=f'"{name}"', try_="W07",
                                  expected="a run id of letters, digits, blank and . _ # -"),))  # fmt: skip
    home = root / "runs" / name
    if home.exists():
        raise taken(home)
    where, answers = f"runs/{name}/{source.name}", Answers()
    around = around_of(root)
    with together(home) as beside:
        copy = beside.receive(source)
        with Cache(root=root).keeper(where, answers) as keeper:
            understanding = loggers.look(source, answers, keep=keeper.take, copy=copy.take)
            sha256 = copy.done()
            keeper.looked(beside.place / source.name, sha256, understanding)
            understanding = asking(understanding)
        if roles_of(understanding) is not None:
            understanding = loggers.look(source, row_by_row(LoggerTable()))
        mapped = dict(mapped_columns(understanding, around.instruments))
        text = draft(name, source.name, understanding, mapped, around)
        beside.write(f"{source.name}.sha256", sidecar(source.name, sha256))
        beside.write("run.toml", text.encode("utf-8"))
    return Brought(
        run=name, file=where, sha256=sha256, understanding=understanding,
        mapped={column: instrument.tag for column, (instrument, _) in mapped.items()},
        unmapped=unmapped(understanding, mapped),
        draft=text, notes=tuple(twins(root, name, sha256)),
    )  # fmt: skip


def at_home(folder: Path | str, file: Path | str) -> tuple[Path, Path]:
    """Campaign and logger file as paths, once it is clear that there is a campaign and that the file may come in."""
    root, source = Path(folder), Path(file)
    if not root.is_dir():
        found = "no folder" if not root.exists() else "a file"
        raise InputError((Problem(file=str(root), line=None, key="", found=found, expected="the campaign's folder",
                                  try_=f"headrace new {root} begins one"),))  # fmt: skip
    read_document(root, "campaign.toml")
    loggers.family_of(source)  # it can be opened
    if source.name == "run.toml" or source.name.startswith(".") or not source.name.isprintable():
        raise InputError((Problem(file=source.name, line=None, key="", found="this file name",
                                  expected="a printable name without a leading dot, not run.toml",
                                  try_="give the file another name"),))  # fmt: skip
    return root, source


def next_run(folder: Path | str) -> str:
    """The next free run id: W01, W02, ..."""
    home = Path(folder) / "runs"
    names = [one.name for one in home.iterdir()] if home.is_dir() else []
    numbers = [int(match[1]) for one in names if (match := re.fullmatch(r"W(\d{1,6})", one))]
    return f"W{max(numbers, default=0) + 1:02d}"


def twins(root: Path, run: str, sha256: str) -> Iterator[str]:
    """Other runs that hold the same bytes, by the hashes beside their raw files."""
    for path in sorted((root / "runs").glob("*/*.sha256")):
        if path.parent.name != run and sealed_hash(path.with_suffix("")) == sha256:
            yield f"the same bytes are in run {path.parent.name} already"
