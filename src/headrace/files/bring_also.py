"""A file of a second logger into a run that is there: copied, sealed, understood, and asked for in its run.toml.

The run's own file stays; the new one stands in an `[[also]]` table at the end of run.toml, with "?" for how the two
clocks meet. All of it comes in one step, or the run is left as it was. Start at `bring_also`.
"""

import tomllib
from collections.abc import Mapping
from pathlib import Path

from headrace.errors import InputError, Problem
from headrace.files import loggers
from headrace.files.bring import Brought, asking, at_home, twins
from headrace.files.cache import sha256_of
from headrace.files.document import Document, read_document
from headrace.files.drafts import around_of, draft_also, mapped_columns, unmapped
from headrace.files.loggers.base import Answers
from headrace.files.references import found_at
from headrace.files.schema.fields import meant
from headrace.files.write import added, sidecar

RUN = "run.toml"


def bring_also(folder: Path | str, file: Path | str, *, run: str) -> Brought:
    """Bring a file of another logger into a run; `draft` of what comes back is the whole run.toml.

    Args:
        folder: the campaign. file: the logger file, which stays where it is. run: id of a run that has a raw file.
    Raises:
        InputError: no such run, it takes no second file, its folder has a file of that name, or the file is unreadable;
            nothing was written.
    """
    root, source = at_home(folder, file)
    home, document = _run(root, run)
    _free(home, source, document)
    around = around_of(root)
    with added(home, RUN) as beside:
        copy = beside.receive(source)
        understanding = asking(loggers.look(source, Answers(), copy=copy.take))
        sha256 = copy.done()
        seen = [str(tag) for where in ("channels.*.instrument", "also.*.channels.*.instrument")
                for _, tag in found_at(document.data, where)]  # fmt: skip
        others = {tag: one for tag, one in around.instruments.items() if tag not in seen}
        mapped = dict(mapped_columns(understanding, others))
        text = with_table(home, document, draft_also(source.name, understanding, mapped, seen))
        beside.write(f"{source.name}.sha256", sidecar(source.name, sha256))
        beside.write(RUN, text)
    return Brought(
        run=run, file=f"runs/{run}/{source.name}", sha256=sha256, understanding=understanding,
        mapped={column: instrument.tag for column, (instrument, _) in mapped.items()},
        unmapped=unmapped(understanding, mapped), draft=text.decode("utf-8-sig"),
        notes=tuple(twins(root, run, sha256)), also="also.",
    )  # fmt: skip


def _run(root: Path, run: str) -> tuple[Path, Document]:
    """The folder of a run that may have a second file, and its run.toml."""
    home = root / "runs" / run
    names = sorted(one.parent.name for one in (root / "runs").glob(f"*/{RUN}"))
    if run not in names:
        near = meant(run, names) if names else "bring its first file in without --also"
        raise InputError((Problem(file="", line=None, key="--also", found=f'"{run}"', try_=near,
                                  expected="a run of this campaign"),))  # fmt: skip
    document = read_document(root, f"runs/{run}/{RUN}")
    if not isinstance(document.data.get("file"), str) or "catch" in document.data:
        what = "a table of catches" if "catch" in document.data else "no raw file"
        raise InputError((document.problem(("file",), what, "a run with a raw file, whose clock the other file joins",
                                           "bring the file in as a run of its own"),))  # fmt: skip
    return home, document


def _free(home: Path, source: Path, document: Document) -> None:
    """Refuses a name that is taken, unless a cut left there what is brought now and run.toml does not speak of it."""
    spoken = {document.data.get("file"), *(name for _, name in found_at(document.data, "also.*.file"))}
    there = home / source.name
    left = source.name not in spoken and there.is_file() and sha256_of(there) == sha256_of(source)
    if not left and (there.exists() or there.with_name(f"{source.name}.sha256").exists()):
        where = f"{document.file.removesuffix(RUN)}{source.name}"
        raise InputError((Problem(file=where, line=None, key="", found="something of that name already",
                                  expected="a free name: nothing is written over",
                                  try_="give the file another name"),))  # fmt: skip


def with_table(home: Path, document: Document, table: str) -> bytes:
    """run.toml with one more `[[also]]`: what stood there stays byte for byte, unless `also` is an array in brackets.

    Raises:
        InputError: run.toml was changed meanwhile.
    """
    if sha256_of(home / RUN) != document.sha256:
        raise InputError((Problem(file=document.file, line=None, key="", found="another text than a moment ago",
                                  expected="a file that nobody writes to meanwhile", try_="try again"),))  # fmt: skip
    old = (home / RUN).read_bytes()
    lines = "\r\n" if b"\r\n" in old else "\n"
    gap = "" if old.endswith(b"\n") or not old else lines
    new = old + (gap + lines + table.replace("\n", lines)).encode("utf-8")
    wanted = [*document.data.get("also", []), *tomllib.loads(table)["also"]]
    if not _says(new, document.data, wanted):
        new = _in_brackets(old, tomllib.loads(table)["also"][0])
        assert _says(new, document.data, wanted)
    return new


def _says(text: bytes, data: Mapping[str, object], also: list[object]) -> bool:
    """Whether a text says all that stood there, and these other files."""
    try:
        return tomllib.loads(text.decode("utf-8-sig")) == {**data, "also": also}
    except tomllib.TOMLDecodeError:
        return False


def _in_brackets(old: bytes, table: Mapping[str, object]) -> bytes:
    """An array in brackets with one more table; comments around it stay."""
    import tomlkit  # here, for few write it so

    said = tomlkit.parse(old.decode("utf-8-sig"))
    inline = tomlkit.inline_table()
    inline.update(table)
    said["also"].append(inline)  # an array, since it is no table that could be added to
    return tomlkit.dumps(said).encode("utf-8")
