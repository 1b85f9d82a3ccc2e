"""Commands on damaged folders and logger files, in this process, and what must hold of how they end.

`base` writes a small campaign that was worked with (results, kept records, a remembered answer, a signed sheet);
`folder` and `logger` damage a copy by seed and return an `Outcome`. Start at `Outcome.breaches`: it must be empty.
"""

import hashlib
import json
import os
import re
import shutil
import signal
import tempfile
import traceback
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any
from unittest.mock import patch

from headrace.doors import faults
from headrace.files import cache, loggers
from headrace.files.loggers.base import Answers, QuestionsOpen
from headrace.files.traces import sealed_hash
from support import mini
from support.commands import Ended, headrace
from support.mangle import Done, damage, damaged_bytes, pool_of

LEDGER = """\
# invented
date = 2026-03-10
ambient = "1007 mbar(a) ± 1 mbar"
room = "17 degC ± 2 K"
p_doubt = "0.1 bar"
level_doubt = "1 mm"
[[event]]
time = "09:00"
by = "AB"
what = "fill"
vessel = "WV-A"
level = { WV-A = "1.300 m" }
[[event]]
time = "09:10"
by = "AB"
what = "run"
run = "W01"
[[event]]
time = "09:30"
by = "AB"
what = "run"
run = "W02"
"""
SAMPLES = Path(__file__).parent.parent / "samples" / "loggers"
PATIENCE = 30
"""Seconds after which a command is taken to hang; a clean one takes a fifth of one."""
MEMORY = {"reduce": ("reduce", "--json"), "text": ("reduce",)}


@dataclass(slots=True, kw_only=True)
class Outcome:
    """One damaged thing, what was asked of it, and what did not hold."""

    seed: int
    done: tuple[object, ...]
    codes: dict[str, int] = field(default_factory=dict)
    breaches: list[str] = field(default_factory=list)
    word: str = ""

    def __str__(self) -> str:
        return f"seed {self.seed}: {', '.join(map(str, self.done))}: {'; '.join(self.breaches)}"


@contextmanager
def watched(home: Path) -> Iterator[list[str]]:
    """Faults of ours are kept as stories, warnings are errors, small raw files are kept too, and nothing hangs."""
    stories: list[str] = []

    def kept(fault: BaseException) -> int:
        stories.append("".join(traceback.format_exception(fault)))
        return faults.OURS

    def late(*_: object) -> None:
        raise TimeoutError("too slow")

    before = signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_REAL, PATIENCE, PATIENCE)
    try:
        with (
            warnings.catch_warnings(),
            patch.object(faults, "our_fault", kept),
            patch.object(cache, "LEAST", 1),
            patch.object(tempfile, "tempdir", str(home)),
        ):
            warnings.simplefilter("error")
            yield stories
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def base(folder: Path) -> dict[str, Any]:
    """The clean campaign, and what it answers: documents by command, each file's hash under "files"."""
    mini.write_mini(folder, 1, runs=2, methods=("metered", "by-hand"), draws=1000, rate=10.0, flowing=4.0)
    (folder / "ledger.toml").write_text(LEDGER)
    run = folder / "runs/W01/run.toml"
    run.write_text(
        "".join(line for line in run.read_text().splitlines(True) if not line.startswith("ambient"))
    )
    for path in folder.rglob("*"):
        os.utime(path, (1_780_000_000, 1_780_000_000))
    with watched(folder.parent) as stories:
        signed = headrace("sheet", folder, "--sign", "A. Example")
        assert signed.code == 0, (signed, stories)
        said = {name: headrace(words[0], folder, *words[1:]) for name, words in MEMORY.items()}
        answers = {name: headrace(*command(name, folder)) for name in ASKED}
    assert all(one.code == 0 for one in (*said.values(), *answers.values())), answers
    files = {
        path.relative_to(folder).as_posix(): sha256(path)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return {"said": said, "answers": answers, "files": files, "inputs": inputs_of(folder)}


def sha256(path: Path) -> str:
    """Of a file's bytes."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def inputs_of(folder: Path) -> dict[str, str]:
    """What the reduction that stands under results/ was made from."""
    made = json.loads((folder / "results/reduce.json").read_text())["made_from"]["inputs"]
    return dict(made)


ASKED: dict[str, tuple[str, ...]] = {
    "setpoints": ("--json",), "predict": ("--tank", "ox=31 bar(g)", "--tank", "fuel=32 bar(g)", "--json"),
    "day": ("--json",), "verdict": ("W01", "--json"), "explain": ("pc", "--json"),
}  # fmt: skip
SOMETIMES = ("text",) * 6 + ("setpoints",) * 3 + ("predict", "day", "day", "verdict", "verdict", "explain")
SELDOM = ("sheet", "compare")


def command(name: str, folder: Path) -> tuple[str | Path, ...]:
    """A command line by its short name."""
    if name in MEMORY:
        return (MEMORY[name][0], folder, *MEMORY[name][1:])
    if name == "compare":
        return ("compare", folder, folder, "--json")
    return (name, folder, *ASKED.get(name, ()))


PLACE = re.compile(r"^headrace: (?P<file>.+?)(?:, line (?P<line>\d+))?(?:, [^:]+)?: found", re.M)


def ended_well(outcome: Outcome, name: str, ended: Ended, stories: list[str], files: bool = True) -> None:
    """What holds of any command: its code, and that what must be mended has a place."""
    outcome.codes[name] = ended.code
    if ended.code not in (0, 1, 2):
        story = stories[-1].strip().splitlines()[-6:] if stories else [ended.err]
        outcome.breaches.append(f"{name} ends with {ended.code}: {' | '.join(story)}")
    if ended.code == 2 and files and not PLACE.search(ended.err):
        outcome.breaches.append(f"{name} names no place: {ended.err[:300]!r}")


def folder(clean: Path, known: Mapping[str, Any], seed: int, home: Path, *, seldom: float = 0.02) -> Outcome:
    """Damage a copy of the base by seed, ask a few commands, and hold what they say against the clean answers."""
    work = copied(clean, home / f"m{seed}")
    try:
        return held(work, known, seed, damage(work, seed), Random(f"asked {seed}"), seldom)
    finally:
        removed(work)


def copied(clean: Path, work: Path) -> Path:
    """A copy with the times of the original, so that what was remembered of it holds."""
    return Path(shutil.copytree(clean, work))


def removed(work: Path) -> None:
    """Take a folder or a file away, whatever its permissions became."""
    for path in work.rglob("*"):
        if not path.is_symlink():
            path.chmod(0o755)
    shutil.rmtree(work) if work.is_dir() else work.unlink()


def held(
    work: Path, known: Mapping[str, Any], seed: int, done: tuple[Done, ...], rng: Random, seldom: float = 0.0
) -> Outcome:
    """What a folder that was damaged so says."""
    outcome = Outcome(seed=seed, done=done)
    asked = rng.choice(SELDOM) if rng.random() < seldom else rng.choice(SOMETIMES)
    report = rng.random() < seldom / 8
    now = plain_hashes(work)
    with watched(work.parent) as stories:
        try:
            reduced = headrace(*command("reduce", work))
            ended_well(outcome, "reduce", reduced, stories)
            told = reduced.code in (0, 1) and "Nothing was written under results/" not in reduced.err
            used = inputs_of(work) if told else None
            checked = headrace("check", work, "--json")
            ended_well(outcome, "check", checked, stories)
            other = headrace(*command(asked, work))
            ended_well(outcome, asked, other, stories)
            if report:
                ended_well(outcome, "report", headrace("report", work), stories)
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                raise
            outcome.breaches.append("".join(traceback.format_exception(error)[-4:]))
            return outcome
    if outcome.breaches:
        return outcome
    same_inputs = all(now.get(name) == sha for name, sha in known["inputs"].items())
    derived_only = all(pool_of(one.file) in ("derived", "signed") for one in done) and set(
        inputs_like(now)
    ) == set(inputs_like(known["files"]))
    judge_numbers(outcome, known, now, reduced, used)
    judge_seals(outcome, now, work, reduced, checked)
    judge_places(outcome, now, checked)
    if same_inputs and derived_only:
        clean = known["said"]["reduce"]
        if (reduced.out, reduced.code) != (clean.out, clean.code):
            outcome.breaches.append("another answer though only derived files changed")
        before = {**known["said"], **known["answers"]}.get(asked)
        if before is not None and (other.out, other.code) != (before.out, before.code):
            outcome.breaches.append(f"another answer of {asked} though only derived files changed")
    elif checked.code != 2 and not same_inputs and "signed/" in "".join(now):
        codes = {one["code"] for one in json.loads(checked.out)["notices"]}
        whole = all(
            now.get(name) == sha for name, sha in known["files"].items() if name.startswith("signed/")
        )
        if whole and "signed-inputs-changed" not in codes:
            outcome.breaches.append("a signed sheet stands though what it rests on changed")
    return outcome


def inputs_like(files: Mapping[str, str]) -> list[str]:
    """Names that a campaign is made of."""
    return [name for name in files if pool_of(name) in ("text", "raw", "seal")]


def plain_hashes(folder: Path) -> dict[str, str]:
    """Hash of every file that can be read, links followed where they lead to one."""
    found = {}
    for path in sorted(folder.rglob("*")):
        if path.is_file() and os.access(path, os.R_OK):
            found[path.relative_to(folder).as_posix()] = sha256(path)
    return found


def judge_numbers(
    outcome: Outcome,
    known: Mapping[str, Any],
    now: Mapping[str, str],
    reduced: Ended,
    used: Mapping[str, str] | None,
) -> None:
    """No number changed silently: what was used is told by its hash, and that hash is that of the file."""
    if reduced.code == 2:
        outcome.word = "refused"
        return
    if used is None:
        outcome.word = "results in the way"
        return
    clean, said = json.loads(known["said"]["reduce"].out), json.loads(reduced.out)
    unseen = {one.file for one in outcome.done if isinstance(one, Done) and one.how == "unseen"}
    for name, sha in used.items():
        if now.get(name) != sha and name not in unseen:
            outcome.breaches.append(f"says it used {name} with a hash that is not that of the file")
    numbers = said["circuits"] != clean["circuits"]
    moved = {name for name in {*used, *known["inputs"]} if used.get(name) != known["inputs"].get(name)}
    if numbers and not moved:
        outcome.breaches.append("another number from the same inputs")
    touched = {one.file for one in outcome.done if isinstance(one, Done)}
    runs = {"/".join(name.split("/")[:2]) for name in touched}
    for name in moved:
        if name not in touched and "/".join(name.split("/")[:2]) not in runs and name in known["inputs"]:
            outcome.breaches.append(f"{name} counts as changed, but was not")
    new = {(one["code"], one["run"], one["about"]) for one in said["notices"]} - {
        (one["code"], one["run"], one["about"]) for one in clean["notices"]
    }
    outcome.word = f"{'other' if numbers else 'same'} numbers{', a new doubt' if new else ''}"


def judge_seals(outcome: Outcome, now: Mapping[str, str], work: Path, reduced: Ended, checked: Ended) -> None:
    """A raw file that is not the one its seal names is refused by `check`, and by `reduce` unless its time lies."""
    unseen = {one.file for one in outcome.done if isinstance(one, Done) and one.how == "unseen"}
    for name, sha in now.items():
        seal = work / f"{name}.sha256"
        run = work / Path(name).parent / "run.toml"
        if (
            pool_of(name) != "raw"
            or not seal.is_file()
            or not run.is_file()
            or str(Path(name).parent / "run.toml") not in now
        ):
            continue
        text = run.read_bytes()
        if f'\nfile = "{Path(name).name}"'.encode() not in text or sealed_hash(work / name) == sha:
            continue
        for which, ended in (("check", checked), ("reduce", reduced)):
            if ended.code != 2 and not (which == "reduce" and name in unseen):
                outcome.breaches.append(f"{which} takes {name}, whose seal is not that of its bytes")


def judge_places(outcome: Outcome, now: Mapping[str, str], checked: Ended) -> None:
    """A fault in a text file has its line."""
    for one in json.loads(checked.out)["problems"]:
        if not one["file"]:
            outcome.breaches.append(f"a problem without a file: {one}")
        whole = ("bytes", "cannot be", "no such file", "no TOML")
        told = one["line"] is not None or any(word in one["found"] for word in whole)
        if one["file"].endswith(".toml") and one["file"] in now and not told:
            outcome.breaches.append(f"a problem without a line: {one}")


def sources(clean: Path) -> list[Path]:
    """Logger files of every family, as they are before the damage."""
    return [*sorted(SAMPLES.iterdir()), *sorted(clean.glob("runs/*/*.csv"))]


def logger(files: list[Path], clean: Path, seed: int, home: Path) -> Outcome:
    """Look at a damaged logger file; now and then bring it in, and `check` what came of that."""
    rng = Random(f"looked {seed}")
    source = rng.choice(files)
    data, kinds = damaged_bytes(source.read_bytes(), seed)
    path = home / f"l{seed}{source.suffix}"
    path.write_bytes(data)
    outcome = Outcome(seed=seed, done=(source.name, *kinds))
    work = home / f"b{seed}"
    try:
        with watched(home) as stories:
            seen = headrace("bring", "--look", path, "--json")
            ended_well(outcome, "look", seen, stories)
            if seen.code in (0, 1):
                judge_lines(outcome, json.loads(seen.out))
            if seen.code == 0:
                judge_values(outcome, path, source)
            if rng.random() < 0.15:
                shutil.copytree(clean, work)
                ended = headrace("bring", work, path, "--json")
                ended_well(outcome, "bring", ended, stories)
                if (ended.code == 2) != (seen.code == 2):
                    outcome.breaches.append(f"look ends with {seen.code}, bring with {ended.code}")
                checked = headrace("check", work, "--json")
                ended_well(outcome, "check", checked, stories)
                if ended.code != 2:
                    home_of = work / json.loads(ended.out)["file"]
                    if home_of.read_bytes() != data:
                        outcome.breaches.append("what was brought is not what there was")
                    if checked.code != 1:
                        outcome.breaches.append(
                            f"check of a fresh draft ends with {checked.code}: {checked.out[:400]}"
                        )
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        outcome.breaches.append("".join(traceback.format_exception(error)[-4:]))
    finally:
        path.unlink()
        shutil.rmtree(work, ignore_errors=True)
    outcome.word = outcome.word or {0: "read", 1: "asks", 2: "refused"}.get(
        outcome.codes.get("look", 3), "fault"
    )
    return outcome


def judge_lines(outcome: Outcome, said: Mapping[str, Any]) -> None:
    """Every line of a file that was read is accounted for."""
    lines = said["lines"]
    parts = sum(lines[name] for name in ("header", "rows", "bad", "blank", "headings", "aside"))
    if lines["total"] != parts:
        outcome.breaches.append(f"{lines['total']} lines, {parts} accounted for")


DIGITS = r"(?:[eE][-+]?\d+)?"
FORMS = (
    r"[-+]?\d+\.?\d*", r"[-+]?\.\d+", r"[-+]?\d*,\d+", r"[-+]?\d[\d ]*", r"[-+]?\d[\d,']*\.?\d*",
    r"[-+]?\d[\d.']*,?\d*",
)  # fmt: skip
NUMBERS = tuple(re.compile(one + DIGITS) for one in FORMS)


def judge_values(outcome: Outcome, path: Path, source: Path) -> None:
    """Every number read stands in its line so; and a line that was not damaged gives what it gave before."""
    try:
        then = rows_of(source)
    except QuestionsOpen:
        return
    now = rows_of(path)
    if now is None or then is None or now[0] != then[0]:
        return
    names, told = now
    before = {text: values for text, values in then[1] if len(text) > 4}
    for text, values in told:
        pairs = zip(values, before.get(text, values), strict=True)
        if any(one != two for one, two in pairs if one == one and two == two):
            outcome.breaches.append(f"line {text!r} read as {values}, before as {before[text]}")
            return
        written = {one for form in NUMBERS for token in form.findall(text) for one in meant_by(token)}
        strange = [one for one in values if one == one and one not in written]
        if strange:
            outcome.breaches.append(f"line {text!r} has no {strange} ({names[2:]})")
            return


def rows_of(path: Path) -> tuple[tuple[object, ...], list[tuple[str, tuple[float, ...]]]] | None:
    """Names, and text and values of each row but its times; None for a family whose rows are of several lines."""
    record = loggers.read(path, Answers())
    dialect = record.report.dialect
    clock = set(dialect.time.columns)
    names = tuple(name for place, name in enumerate(dialect.names) if place not in clock)
    text = path.read_bytes().decode(dialect.encoding, errors="replace").replace("\x00", "").split("\n")
    if record.report.family in ("long",) or record.report.lines.total not in (len(text), len(text) - 1):
        return None
    columns = [record.columns[name] for name in names]
    return (dialect.delimiter, dialect.decimal, *names), [
        (text[int(line) - 1], tuple(float(column[at]) for column in columns))
        for at, line in enumerate(record.lines)
    ]


def meant_by(token: str) -> Iterator[float]:
    """All that a text of digits may be meant to say."""
    bare = token.replace(" ", "").replace("'", "")
    for said in (
        bare,
        bare.replace(",", "."),
        bare.replace(",", ""),
        bare.replace(".", "").replace(",", "."),
    ):
        with suppress(ValueError):
            yield float(said)
