"""A campaign folder to the record `Campaign`, or every problem of every file at once.

`read` is for whoever needs the campaign; `gather` also gives what is open or wrong without raising. Files:
campaign.toml always; bench.toml and article.toml once there are runs (but drafts) or an engine; the others
when there is need; runs/<id>/run.toml with its raw file. Names that begin with a dot are nobody's business here.
"""

import re
from collections.abc import Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import cast

from headrace.errors import InputError, Problem
from headrace.files import build
from headrace.files.cache import Cache
from headrace.files.certificates import Reading as Paper
from headrace.files.certificates import certificates as papers_of
from headrace.files.certificates import of_instrument, of_meter
from headrace.files.document import Document, read_document
from headrace.files.ledger import feeds, ledger, strangers
from headrace.files.needs import pairs
from headrace.files.references import dangling, doubled, found_at, repeats
from headrace.files.runs import Around, ToRead, carry_out
from headrace.files.schema import FILES
from headrace.files.schema.article import ArticleTable
from headrace.files.schema.bench import BenchTable
from headrace.files.schema.campaign import CampaignTable
from headrace.files.schema.certificates import CertificatesTable
from headrace.files.schema.engine import EngineTable
from headrace.files.schema.fields import ID, Table, meant
from headrace.files.schema.ledger import LedgerTable
from headrace.files.schema.run import RunTable
from headrace.files.traces import Told, unit_asked
from headrace.files.validate import Validated, questions_in, validate
from headrace.jobs.day.find import of_runs
from headrace.notices import Notice, Severity, merged
from headrace.records.given import Article, Bench, Campaign, Engine, Instrument, RunGiven
from headrace.records.ledger import Ledger

TOP = tuple(kind for kind in FILES if kind != "run")
NO_BENCH = Bench(instruments={}, meters={}, lines={}, taps={}, vessels={})
NO_ARTICLE = Article(serial="", circuits={})


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """All that a folder says: its campaign (None while a problem stands), problems, open questions of runs, notices."""

    campaign: Campaign | None
    problems: tuple[Problem, ...]
    questions: tuple[Problem, ...]
    notices: tuple[Notice, ...]
    inputs: Mapping[str, str]


def read(folder: Path | str, *, executor: Executor | None = None) -> Campaign:
    """The campaign in a folder. Runs with open questions are left out, with a notice of severity stop.

    Args:
        executor: reads the raw files, each by itself, with the same result; default: one after the other, here.
    Raises:
        InputError: with every problem found.
    """
    gathered = gather(folder, executor=executor)
    if gathered.campaign is None:
        raise InputError(gathered.problems)
    return gathered.campaign


def gather(folder: Path | str, *, believe: bool = True, executor: Executor | None = None) -> Gathered:
    """Read a folder as far as it goes; never raises for what is in it.

    believe: a raw file of unchanged size and time is taken for the one that was read before; else it is hashed.
    """
    root = Path(folder)
    if not root.is_dir():
        problem = _missing(str(folder), "a campaign folder", "`new` makes one")
        return Gathered(campaign=None, problems=(problem,), questions=(), notices=(), inputs={})
    try:
        return _Reader(root, believe, executor).gathered()
    except OSError as error:
        where = Path(str(error.filename or folder))
        file = where.relative_to(root).as_posix() if where.is_relative_to(root) else str(where)
        problem = Problem(file=file, line=None, key="", found=f"something that cannot be read ({error.strerror})",
                          expected="a readable file or folder", try_="mend its permissions")  # fmt: skip
        return Gathered(campaign=None, problems=(problem,), questions=(), notices=(), inputs={})


def _missing(file: str, expected: str, try_: str) -> Problem:
    return Problem(file=file, line=None, key="", found="no such file or folder", expected=expected, try_=try_)


IN_MEMORY = 64_000_000
"""Bytes of raw files up to which all traces of a campaign are held at once; of more, each is read when wanted."""

BORE = 0.05
"""Relative difference of a meter's pipe bore and its line's from which one of the two is taken for mistyped."""


@dataclass(slots=True)
class _Reader:
    """One pass over a folder; what is found piles up in its lists."""

    root: Path
    believe: bool
    executor: Executor | None
    problems: list[Problem] = field(default_factory=list)
    questions: list[Problem] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    inputs: dict[str, str] = field(default_factory=dict)
    documents: dict[str, Document] = field(default_factory=dict)
    ledger: Ledger | None = None
    tables: dict[str, Table] = field(default_factory=dict)

    def gathered(self) -> Gathered:
        for kind in TOP:
            self.top(kind)
        runs = self.run_documents()
        self.absent(any(run is not None and not any(questions_in(run.data)) for run in runs.values()))
        for kind, document in self.documents.items():
            self.problems += doubled(kind, document)
            self.problems += dangling(kind, document, self.documents)
        self.problems += self.tags_of_both()
        records = self.runs(runs)
        campaign = None if self.problems else self.campaign(records)
        return Gathered(
            campaign=campaign, problems=tuple(sorted(self.problems, key=_order)), questions=tuple(self.questions),
            notices=merged(self.notices), inputs=MappingProxyType(dict(sorted(self.inputs.items()))),
        )  # fmt: skip

    def document(self, file: str) -> Document | None:
        try:
            document = read_document(self.root, file)
        except InputError as error:
            self.problems += error.problems
            return None
        self.inputs[file] = document.sha256
        return document

    def top(self, kind: str) -> None:
        file = f"{kind}.toml"
        if not (self.root / file).exists():
            return
        document = self.document(file)
        if document is None or (not document.data and kind != "campaign"):
            return  # all commented out, as `new` leaves it: as good as not there
        self.documents[kind] = document
        result: Validated[Table] = validate(document, FILES[kind])
        self.problems += [*result.problems, *result.questions]
        if result.table is not None:
            self.tables[kind] = result.table

    def run_documents(self) -> dict[str, Document | None]:
        """run.toml of every run by id; None where it cannot be read."""
        found: dict[str, Document | None] = {}
        home = self.root / "runs"
        if not home.is_dir():
            return found
        for folder in sorted(home.iterdir()):
            if folder.name.startswith(".") or not folder.is_dir():
                continue
            file = f"runs/{folder.name}/run.toml"
            if not re.fullmatch(ID, folder.name):
                self.problems.append(Problem(file=f"runs/{folder.name}", line=None, key="", found="this name",
                                             expected="a run id of letters, digits, blank and . _ # -",
                                             try_="rename the folder, W07 say"))  # fmt: skip
            elif not (folder / "run.toml").exists():
                self.problems.append(
                    _missing(file, "run.toml in every folder under runs/", "write it, or use `bring`")
                )
            else:
                found[folder.name] = self.document(file)
        return found

    def absent(self, any_runs: bool) -> None:
        """Files that must be there and are not, with names that look like theirs."""
        needed = ["campaign"]
        if any_runs or "engine" in self.documents:
            needed += ["bench", "article"]
        elif "ledger" in self.documents:
            needed.append("bench")
        if self.certificate_users():
            needed.append("certificates")
        known = {f"{kind}.toml" for kind in (*TOP, "plan", "ledger")}
        strange = {one.name for one in self.root.glob("*.toml") if one.name not in known}
        for kind in needed:
            file = f"{kind}.toml"
            if (self.root / file).exists():
                if self.inputs.get(file) and kind not in self.documents:
                    self.problems.append(Problem(file=file, line=1, key="", found="no key that is not commented out",
                                                 expected=f"the keys of {file}, which this campaign needs",
                                                 try_="uncomment its lines and make them yours"))  # fmt: skip
            else:
                near = meant(file, strange) if strange else ""
                try_ = (
                    f"rename {near}"
                    if near.startswith('"')
                    else "write it; `new` in an empty folder shows its keys"
                )
                self.problems.append(_missing(file, f"{file}, which this campaign needs", try_))

    def tags_of_both(self) -> Iterator[Problem]:
        """Tags of engine.toml that bench.toml has as well: one tag is one instrument."""
        bench, engine = self.documents.get("bench"), self.documents.get("engine")
        if bench is None or engine is None:
            return
        tags = {tag for _, tag in found_at(bench.data, "instrument.*.tag") if isinstance(tag, str)}
        for path, tag in found_at(engine.data, "instrument.*.tag"):
            if isinstance(tag, str) and tag in tags:
                yield engine.problem(path, f'"{tag}", which bench.toml has too', "a tag of its own",
                                     "leave the instrument out here: one of bench.toml may be named, too")  # fmt: skip

    def runs(self, documents: Mapping[str, Document | None]) -> dict[str, RunGiven]:
        bench = cast(BenchTable | None, self.tables.get("bench"))
        engine = cast(EngineTable | None, self.tables.get("engine"))
        instruments = build.instruments(bench.instrument, "bench.toml") if bench else {}
        instruments |= build.instruments(engine.instrument, "engine.toml") if engine else {}
        article = cast(ArticleTable | None, self.tables.get("article"))
        around = Around(
            circuits=tuple(one.id for one in article.circuit) if article else (),
            bench=build.bench(bench) if bench else None,
            instruments=instruments,
            cache=Cache(root=self.root, believe=self.believe),
            keep=raw_bytes(self.root) <= IN_MEMORY,
            ledger=self.read_ledger(instruments, build.bench(bench) if bench else None),
            feeds=feeds(documents, build.bench(bench) if bench else None),
            ledger_broken="ledger" in self.documents and "ledger" not in self.tables,
        )
        self.ledger = around.ledger
        tasks = [
            self.task(run, document, documents, around)
            for run, document in documents.items()
            if document is not None
        ]
        records: dict[str, RunGiven] = {}
        read = map if self.executor is None else self.executor.map
        for run, (record, hashes, told) in zip(
            (one.run for one in tasks), read(carry_out, tasks), strict=True
        ):
            self.inputs.update(hashes)
            if record is not None:
                records[run] = record
            self.problems += told.problems
            self.questions += told.questions
            self.notices += [_open(run, question) for question in told.questions]
            self.notices += told.notices
        for run, record in list(records.items()):
            if record.minus is not None and record.minus not in records:
                del records[run]
                self.notices.append(_waits(run, record.minus))
        return records

    def read_ledger(self, instruments: Mapping[str, Instrument], bench: Bench | None) -> Ledger | None:
        """The ledger of the day, if there is one in order."""
        document, table = self.documents.get("ledger"), cast(LedgerTable | None, self.tables.get("ledger"))
        if document is None:
            return None
        self.problems += strangers(document, self.documents)
        return ledger(document, table, instruments, bench, self.problems) if table is not None else None

    def task(
        self, run: str, document: Document, documents: Mapping[str, Document | None], around: Around
    ) -> ToRead:
        """What is to be read of one run, and what its run.toml lets tell already."""
        told = Told()
        result = validate(document, RunTable)
        told.problems += result.problems
        told.problems += dangling("run", document, self.documents)
        told.problems += _repeated(document)
        told.problems += pairs(run, document, documents)
        paths = questions_in(document.data)
        told.questions += [
            unit_asked(document, path, around.instruments) or question
            for path, question in zip(paths, result.questions, strict=True)
        ]
        return ToRead(run=run, document=document, table=result.table, around=around, told=told)

    def campaign(self, runs: Mapping[str, RunGiven]) -> Campaign | None:
        top = cast(CampaignTable, self.tables["campaign"])
        bench = cast(BenchTable | None, self.tables.get("bench"))
        article = cast(ArticleTable | None, self.tables.get("article"))
        engine = cast(EngineTable | None, self.tables.get("engine"))
        papers = cast(CertificatesTable | None, self.tables.get("certificates"))
        certificates = {}
        if papers is not None:
            certificates = papers_of(
                papers, self.documents["certificates"], self.certificate_users(), self.problems
            )
        if self.problems:
            return None
        given = build.bench(bench) if bench else NO_BENCH
        record = build.engine(engine) if engine else None
        self.notices += [*_reliefs(given, record), *_bores(given)]
        campaign = Campaign(
            name=top.name, date=top.date, invented=top.invented, signers=tuple(top.signers),
            limits=build.limits(top), defaults=build.defaults(top), bench=given,
            references=build.references(papers) if papers else {}, certificates=certificates,
            article=build.article(article) if article else NO_ARTICLE, engine=record, runs=dict(runs),
            ledger=self.ledger,
            inputs=MappingProxyType(dict(sorted(self.inputs.items()))), notices=merged(self.notices),
        )  # fmt: skip
        self.notices += of_runs(campaign)
        return replace(campaign, notices=merged(self.notices))

    def certificate_users(self) -> dict[str, tuple[Paper, ...]]:
        """How each certificate is read, by its users."""
        users: dict[str, tuple[Paper, ...]] = {}
        bench = cast(BenchTable | None, self.tables.get("bench"))
        engine = cast(EngineTable | None, self.tables.get("engine"))
        for one in (*(bench.instrument if bench else ()), *(engine.instrument if engine else ())):
            if one.certificate:
                users[one.certificate] = (*users.get(one.certificate, ()), of_instrument(one.measures))
        for meter in bench.meter if bench else ():
            if meter.certificate:
                users[meter.certificate] = (*users.get(meter.certificate, ()), of_meter(meter.kind))
        return users


def raw_bytes(root: Path) -> int:
    """Bytes in the folders of all runs."""
    return sum(path.stat().st_size for path in root.glob("runs/*/*") if path.is_file())


def _order(problem: Problem) -> tuple[int, str, int]:
    """Top files first, in the order of `FILES`; then runs; by line in each."""
    kind = problem.file.removesuffix(".toml")
    return (TOP.index(kind) if kind in TOP else len(TOP), problem.file, problem.line or 0)


def _repeated(document: Document) -> Iterator[Problem]:
    yield from repeats(document, ("flow.*.circuits.*",), "each circuit in one flow of a run")
    yield from repeats(document, ("flow.*.lines.*",), "each line in one flow of a run")
    every = ("channels.*.instrument", "also.*.channels.*.instrument")
    yield from repeats(document, every, "one column for each instrument")


def _open(run: str, question: Problem) -> Notice:
    place = question.file + (f", line {question.line}" if question.line else "")
    return Notice(
        code="question-open", severity=Severity.STOP, run=run, about=question.key,
        text=f"{place}, {question.key}: {question.found}; expected {question.expected}. The run is not used.",
        try_=question.try_,
    )  # fmt: skip


def _waits(run: str, short: str) -> Notice:
    return Notice(
        code="question-open", severity=Severity.STOP, run=run, about="total.minus",
        text=f"Run {run} is not used: its short run {short} has open questions.",
        try_=f"answer the questions of {short}",
    )  # fmt: skip


def _reliefs(bench: Bench, engine: Engine | None) -> Iterator[Notice]:
    """Reliefs set above the rating of what they protect."""
    pairs = [(f"vessel {one.id}", one.rating, one.relief) for one in bench.vessels.values()]
    if engine is not None:
        pairs += [(f"{side.id} tank", side.tank.rating, side.tank.relief) for side in engine.sides.values()]
    for name, rating, relief in pairs:
        if rating is not None and relief is not None and relief > rating:
            yield Notice(
                code="relief-above-rating", severity=Severity.STOP, about=name,
                facts=(("rating", rating), ("relief", relief)), limit="the rating, as stated by the owner",
                text=f"The relief of {name} is set at {relief / 1e5:.4g} bar(g), above its rating, "
                     f"{rating / 1e5:.4g} bar(g).",
                try_="mend the numbers, or do not pressurise it; local codes rule",
            )  # fmt: skip


def _bores(bench: Bench) -> Iterator[Notice]:
    """Meters whose pipe bore is not that of the line they sit in."""
    for line in bench.lines.values():
        pipe = bench.meters[line.meter].values.get("d_pipe") if line.meter is not None else None
        if pipe is None or line.bore is None or abs(pipe.value / line.bore - 1) <= BORE:
            continue
        yield Notice(
            code="bore-mismatch", severity=Severity.DOUBT, about=f"line {line.id}",
            facts=(("d_pipe", pipe.value), ("bore", line.bore)), limit=f"{100 * BORE:g} % of the bore, common practice",
            text=f"Meter {line.meter} has a pipe bore of {1e3 * pipe.value:.4g} mm, its line {line.id} one of "
                 f"{1e3 * line.bore:.4g} mm.",
            try_="measure again; the bore at the upstream tap counts, and a step before it disturbs the meter",
        )  # fmt: skip
