"""Logger files: one entry per family of dialects. To add one: write its module, add its line here.

Callers use `look` and `read`, which ask the families in order which of them the first bytes belong to, unless
run.toml names one. Start at `LOGGERS`.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from headrace.errors import InputError, Problem
from headrace.files.loggers import (
    delimited,
    glued,
    long,
    lvm,
    named,
    packed,
    sections,
    sentences,
    tagged,
    tdms,
    xlsx,
)
from headrace.files.loggers.base import KEY, NO_ANSWERS, Answers, Rows
from headrace.files.loggers.delimited import Record
from headrace.files.loggers.family import Logger, Source, head_of, name_of
from headrace.files.loggers.report import Understanding


def _whatever_is_left(_head: bytes, _name: str) -> bool:
    return True


LOGGERS: Mapping[str, Logger] = MappingProxyType(
    {
        "tdms": tdms.FAMILY,
        "xlsx": xlsx.FAMILY,
        "lvm": lvm.FAMILY,
        "sections": sections.FAMILY,
        "sentences": sentences.FAMILY,
        "named": named.FAMILY,
        "packed": packed.FAMILY,
        "tagged": tagged.FAMILY,
        "long": long.FAMILY,
        "glued": glued.FAMILY,
        "delimited": Logger(
            title="rows of fields between separators",
            suffixes=("",),
            claims=_whatever_is_left,
            look=delimited.look,
            read=delimited.read,
            open_parser=delimited.open_parser,
        ),
    }
)
"""In the order in which they are asked; the last claims whatever is left."""


def family_of(source: Source, answers: Answers = NO_ANSWERS) -> tuple[str, Logger]:
    """Name and entry of the family that a file belongs to: the answered one, or the first that claims it.

    Raises:
        InputError: the answer names no family.
        Unreadable: the file cannot be opened.

    >>> family_of(b"t (s),p (bar)\\n0.0,1.5\\n")[0]
    'delimited'
    """
    if answers.family is not None:
        if answers.family not in LOGGERS:
            raise InputError((Problem(file="", line=None, key=KEY + "family", found=repr(answers.family),
                                      expected="one of " + ", ".join(LOGGERS), try_=""),))  # fmt: skip
        return answers.family, LOGGERS[answers.family]
    head, name = head_of(source), name_of(source)
    return next((key, one) for key, one in LOGGERS.items() if one.claims(head, name))


def look(
    source: Source,
    answers: Answers = NO_ANSWERS,
    *,
    keep: Callable[[Rows], None] | None = None,
    copy: Callable[[bytes], None] | None = None,
) -> Understanding:
    """What a file holds and how it was understood; nothing is written.

    Args:
        keep: is given each block of rows as it is read, where the family reads a file block by block.
        copy: is given the bytes of the whole file, piece by piece.
    Raises:
        Unreadable: no table can be found in it; the reason says why.

    >>> look(b"t (s),p (bar)\\n0.0,1.5\\n0.1,1.6\\n").rows
    2
    """
    name, family = family_of(source, answers)
    if family.open_parser is not None:
        found = delimited.look_by(family.open_parser(answers), source, keep, copy)
        return _named_by_file(replace(found, family=name), name_of(source))
    if copy is not None:
        for chunk in delimited.chunks(source):
            copy(chunk)
    return replace(family.look(source, answers), family=name)


def _named_by_file(found: Understanding, file: str) -> Understanding:
    """The report with a word on the file's name, where nothing else may name its only channel."""
    dialect = found.dialect
    channels = [
        one for place, one in enumerate(found.columns) if one.used and place not in dialect.time.columns
    ]
    if not file or len(channels) != 1 or any(dialect.titles):
        return found
    said = f"no heading names '{channels[0].name}'; the file is called {file}, which is shown, not trusted"
    return replace(found, notes=(*found.notes, said))


def read(source: Source, answers: Answers = NO_ANSWERS) -> Record:
    """The numbers of a file.

    Raises:
        Unreadable: no table can be found in it.
        QuestionsOpen: the bytes leave a question that run.toml must answer first.
    """
    name, family = family_of(source, answers)
    record = family.read(source, answers)
    if answers.segment is not None:
        record = delimited.of_segment(record, answers.segment)
    return replace(record, report=replace(record.report, family=name))
