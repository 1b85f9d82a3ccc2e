"""One function per job on a campaign folder: what a command, a page and a notebook call, with the same answer.

Everything is SI; whoever speaks to people converts. `InputError` says what must be mended; a point that cannot be
reached is an answer too, without values and with a *stop*. Start at `reduce`, `predict` or `setpoints`.
"""

import datetime
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from headrace import __version__, serial
from headrace.errors import Infeasible, InputError, NoAnswer, Problem
from headrace.notices import Notice, Severity, merged, stands
from headrace.records.answers import Answer
from headrace.records.compared import Compared
from headrace.records.day import Day
from headrace.records.explained import Node
from headrace.records.given import Campaign
from headrace.records.verdict import Verdict

if TYPE_CHECKING:  # a job loads what it needs, and no other job's
    from headrace.chain.water import Reduced
    from headrace.files.bring import Brought
    from headrace.files.check import Checked
    from headrace.files.loggers.report import Understanding
    from headrace.jobs.compare import Half

SHEET = "sheet.pdf"
REPORT = "report.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """A campaign, and what its runs say."""

    campaign: Campaign
    reduced: "Reduced"

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Every doubt, gravest first."""
        return self.reduced.notices

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands; what is said of runs that were left out does not count."""
        return _stopped(self.campaign, self.notices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Balanced:
    """An engine balance. request: what was asked, by dotted path [SI]; answer: without values when there is none."""

    campaign: Campaign
    reduced: "Reduced"
    request: Mapping[str, float | None]
    answer: Answer

    @property
    def notices(self) -> tuple[Notice, ...]:
        """Every doubt, gravest first."""
        return self.answer.notices

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands; what is said of runs that were left out does not count."""
        return _stopped(self.campaign, self.notices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A sheet: path of the PDF, the signed copy if one was kept, and what it says."""

    path: Path
    signed: Path | None
    balanced: Balanced


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """A report: path of the page, the campaign it is of, and every doubt in it, gravest first."""

    path: Path
    campaign: Campaign
    notices: tuple[Notice, ...]

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands; what is said of runs that were left out does not count."""
        return _stopped(self.campaign, self.notices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Two campaigns, or two dates of one, held against each other."""

    before: Campaign
    after: Campaign
    compared: Compared
    notices: tuple[Notice, ...]

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands on the second."""
        return _stopped(self.after, self.notices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """Where one number of a campaign comes from. what: the name that was asked for; node: its tree."""

    campaign: Campaign
    what: str
    node: Node


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchDay:
    """The ledger of a campaign walked through: what stands where, and what contradicts itself."""

    campaign: Campaign
    day: Day
    notices: tuple[Notice, ...]

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands."""
        return _stopped(self.campaign, self.notices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A verdict on one run, and the campaign it belongs to."""

    campaign: Campaign
    verdict: Verdict

    @property
    def stopped(self) -> bool:
        """True while a *stop* stands on this run, unless it was left out."""
        return _stopped(self.campaign, self.verdict.notices)


def new(folder: Path | str, *, date: datetime.date | None = None) -> tuple[str, ...]:
    """Write a starter campaign into a new or empty folder; the files written. date: it carries; default: today."""
    from headrace.files.new import new as _new

    with _writing(folder):
        return _new(folder, date=date or datetime.datetime.now().astimezone().date())


def check(folder: Path | str) -> "Checked":
    """Read a folder as far as it goes: problems, open questions, doubts, what the ledger contradicts, signed sheets."""
    from headrace.files import check as checking
    from headrace.jobs.day.find import find as _found
    from headrace.jobs.day.walk import walk

    found = checking.check(folder)
    if found.campaign is None or found.campaign.ledger is None:
        return found
    day = _found(found.campaign, walk(found.campaign))
    return replace(found, notices=merged(found.notices, day))


def look(file: Path | str) -> "Understanding":
    """What a logger file holds; nothing is written."""
    from headrace.files.bring import look as _look

    return _look(file)


def bring(
    folder: Path | str, file: Path | str, *, run: str | None = None, also: str | None = None
) -> "Brought":
    """Copy a logger file into a campaign as a new run, sealed, with a drafted run.toml.

    Args:
        run: id of the new run; default: the next free one. also: instead, a run that is there, to which the file goes
            as that of a second logger.
    Raises:
        InputError: with what must be mended; nothing was written.
    """
    from headrace.files.bring import bring as _bring
    from headrace.files.bring_also import bring_also as _bring_also

    with _writing(folder):
        return _bring(folder, file, run=run) if also is None else _bring_also(folder, file, run=also)


def reduce(folder: Path | str, *, processes: int | None = 1) -> Reduction:
    """Every run to readings, the readings of each circuit to its characteristic. Writes nothing but results/cache.

    Args:
        processes: that share the runs, with the same numbers; None: one for few data, else one for each core. The
            others start Python anew, so a script of yours must then be importable without side effects.
    Raises:
        InputError: with every problem of the folder.
    """
    from headrace.files import folder as folders
    from headrace.files.helpers import helpers
    from headrace.jobs.reduce import reduce as _reduce

    with helpers(folder, processes) as executor:
        campaign = folders.read(folder, executor=executor)
        return Reduction(campaign=campaign, reduced=_reduce(campaign, executor=executor))


def write_reduction(folder: Path | str, reduction: Reduction) -> tuple[Path, ...]:
    """Leave a reduction under results/: reduce.json, and the readings as a table.

    Raises:
        InputError: the folder cannot be written.
    """
    from headrace.files import results

    inputs = reduction.campaign.inputs
    document = serial.reduce(reduction.campaign, reduction.reduced)
    rows = [
        {"circuit": key} | reading
        for key, circuit in document["circuits"].items()
        for reading in circuit["readings"]
    ]
    numbers = ("t", "re", "cav", "dp", "m_dot", "area_eff", "u", "cd")
    with _writing(folder):
        paths = [results.write_json(folder, "reduce", document, inputs=inputs)]
        if rows:
            columns = {
                name: [float("nan") if row[name] is None and name in numbers else row[name] for row in rows]
                for name in ("circuit", "run", *numbers, "used", "why", "file")
            }
            paths.append(results.write_table(folder, "readings", columns, inputs=inputs))
    return tuple(paths)


def day(folder: Path | str, *, at: datetime.datetime | datetime.time | None = None) -> BenchDay:
    """What stands where on the bench by ledger.toml, and what in it contradicts itself. Writes nothing.

    Args:
        at: the moment; a time alone is of the ledger's last day; default: after its last event.
    Raises:
        InputError: with every problem of the folder; there is no ledger; `at` lies before its first event.
    """
    from headrace.files import folder as folders
    from headrace.jobs.day.find import find as _found
    from headrace.jobs.day.walk import walk
    from headrace.jobs.reduce import reduce as _reduce

    campaign = folders.read(folder)
    ledger = campaign.ledger
    if ledger is None or not ledger.events:
        raise InputError((Problem(
            file="ledger.toml", line=None, key="event", found="no event of the day",
            expected="what stands, and what was done", try_="`headrace new` in an empty folder shows its keys",
        ),))  # fmt: skip
    moments = [event.moment for event in ledger.events]
    if isinstance(at, datetime.time):
        at = datetime.datetime.combine(max(moments).date(), at)
    if at is not None and at < min(moments):
        raise InputError((Problem(
            file="", line=None, key="--at", found=f"{at:%Y-%m-%d %H:%M}", try_="",
            expected=f"a moment after the first event of ledger.toml, {min(moments):%Y-%m-%d %H:%M}",
        ),))  # fmt: skip
    walked = walk(campaign, until=at)
    ran = any(step.event.words.get("run") in campaign.runs for step in walked.steps)
    found = _found(campaign, walked, _reduce(campaign) if ran else None)
    own = [one for one in campaign.notices if one.code == "ledger-contradicts"]
    return BenchDay(campaign=campaign, day=walked, notices=merged(found, own))


def verdict(folder: Path | str, run: str) -> Judged:
    """Right after a run: is it good, does it agree, what next, and to what the vessels settle. Writes nothing.

    Raises:
        InputError: with every problem of the folder; there is no such run.
    """
    from headrace.files.schema.fields import meant
    from headrace.jobs.day.find import find as _found
    from headrace.jobs.day.find import metered
    from headrace.jobs.day.walk import walk
    from headrace.jobs.verdict.judge import judge

    done = reduce(folder)
    campaign, reduced = done.campaign, done.reduced
    known = sorted({*campaign.runs, *(one.run for one in reduced.notices if one.run is not None)})
    if run not in known:
        raise InputError((Problem(file="", line=None, key="RUN", found=f'"{run}"', expected="a run of this campaign",
                                  try_=meant(run, known) if known else "bring one in first"),))  # fmt: skip
    walked = walk(campaign)
    found = _found(campaign, walked, reduced)
    return Judged(campaign=campaign, verdict=judge(campaign, reduced, run, day=walked, found=found,
                                                   water=metered(reduced).get(run)))  # fmt: skip


def predict(folder: Path | str, *, tanks: Mapping[str, float]) -> Balanced:
    """Chamber pressure, O/F and flows for flowing tank pressures.

    Args:
        tanks: "ox" and "fuel", as the stand's gauges show them. [Pa gauge]
    Raises:
        InputError: with every problem of the folder, or one side is missing.
    """
    from headrace.jobs import balance

    if set(tanks) != {"ox", "fuel"}:
        raise InputError((Problem(file="", line=None, key="tank", found=", ".join(sorted(tanks)) or "no tank",
                                  expected="a pressure for ox and one for fuel", try_=""),))  # fmt: skip
    done = reduce(folder)
    _engine(done.campaign)
    request: dict[str, float | None] = {f"tanks.{side}": tanks[side] for side in ("ox", "fuel")}
    try:
        answer = balance.predict(done.campaign, done.reduced, tanks=tanks)
    except NoAnswer as fault:
        answer = _without(done.reduced, fault)
    return Balanced(campaign=done.campaign, reduced=done.reduced, request=request, answer=answer)


def setpoints(
    folder: Path | str,
    *,
    p_chamber: float | None = None,
    m_dot: float | None = None,
    of_ratio: float | None = None,
) -> Balanced:
    """Tank pressures for a wanted point; what is not given is the design point's of engine.toml.

    Args:
        p_chamber: wanted. [Pa abs] m_dot: wanted total flow, instead. [kg/s] of_ratio: wanted O/F. [-]
    Raises:
        InputError: with every problem of the folder; both p_chamber and m_dot were given.
    """
    if p_chamber is not None and m_dot is not None:
        raise InputError((Problem(file="", line=None, key="", found="a chamber pressure and a total flow",
                                  expected="one of them", try_="leave one out"),))  # fmt: skip
    return _setpoints(reduce(folder), p_chamber, m_dot, of_ratio)


def sheet(folder: Path | str, *, sign: str | None = None) -> Printed:
    """The set-point sheet of the design point, to results/sheet.pdf.

    Args:
        sign: a name; the sheet is then kept under signed/ as well, unless a *stop* stands on it. A name that is
            none of the campaign's signers is a doubt on the sheet.
    Raises:
        InputError: with every problem of the folder; it cannot be written; an empty name.
    """
    if sign is not None and not sign.strip():
        raise InputError(
            (Problem(file="", line=None, key="sign", found="no name", expected="who signs", try_=""),)
        )
    done = reduce(folder)
    return print_sheet(folder, _setpoints(done, None, None, None), sign=sign)


def print_sheet(
    folder: Path | str, balanced: Balanced, *, sign: str | None = None, at: datetime.datetime | None = None
) -> Printed:
    """As `sheet`, for set points that were worked out already. at: moment of the signature; default: now, UTC."""
    from headrace.files import results, signed
    from headrace.paper.content import content
    from headrace.paper.sheet import make

    campaign = balanced.campaign
    signs = " ".join(sign.split()) if sign is not None and not balanced.stopped else None
    if signs is not None:
        balanced = replace(balanced, answer=_signed_by(campaign, balanced.answer, signs))
    moment = datetime.datetime.now(datetime.UTC) if at is None else at
    if signs is not None and (back := signed.clock_back(folder, moment)) is not None:
        balanced = replace(
            balanced, answer=replace(balanced.answer, notices=merged((back,), balanced.answer.notices))
        )
    told = None if signs is None else f"{signs}, {signed.spoken(moment)}"
    said = content(campaign, balanced.reduced, balanced.answer, version=__version__, signed_by=told)
    pdf = make(said)
    kept = None
    with _writing(folder):
        path = results.write_file(folder, SHEET, pdf)
        if signs is not None:
            one = signed.keep(folder, pdf=pdf, signed_by=signs, at=moment, campaign_date=campaign.date,
                              inputs=campaign.inputs, request=balanced.request)  # fmt: skip
            kept = Path(folder) / signed.HOME / one.sheet
    return Printed(path=path, signed=kept, balanced=balanced)


def report(folder: Path | str) -> Reported:
    """The whole campaign as one page, to results/report.html: with set points where there is an engine.

    Raises:
        InputError: with every problem of the folder; it cannot be written.
    """
    done = reduce(folder)
    balanced = None if done.campaign.engine is None else setpoints_of(done)
    return print_report(folder, done, balanced)


def print_report(folder: Path | str, reduction: Reduction, balanced: Balanced | None) -> Reported:
    """As `report`, for a campaign that was reduced (and balanced, where it has an engine) already."""
    from headrace.files import results
    from headrace.jobs.day.find import find as _found
    from headrace.jobs.day.walk import walk
    from headrace.paper.report import content as reporting
    from headrace.paper.report import page  # here, for its templates load when a page is wanted only

    campaign, reduced = reduction.campaign, reduction.reduced
    kept = campaign.ledger is not None and bool(campaign.ledger.events)
    walked = walk(campaign) if kept else None
    said = reporting.content(
        campaign,
        reduced,
        None if balanced is None else balanced.answer,
        version=__version__,
        day=walked,
        found=() if walked is None else _found(campaign, walked, reduced),
    )
    with _writing(folder):
        path = results.write_file(folder, REPORT, page.make(said))
    return Reported(path=path, campaign=campaign, notices=said.notices)


def explain(folder: Path | str, what: str) -> Explained:
    """Where a number comes from, back to the bytes. Writes nothing.

    Args:
        what: "tanks.ox", "area_eff.ox", "W07", "W07.ox[3]" (its third reading), a source of error, a doubt's code, ...
    Raises:
        InputError: with every problem of the folder; nothing has this name.
    """
    from headrace.paper.explain import look_up
    from headrace.paper.explain.world import World

    done = reduce(folder)
    answer = None if done.campaign.engine is None else setpoints_of(done).answer
    world = World(campaign=done.campaign, reduced=done.reduced, answer=answer)
    try:
        return Explained(campaign=done.campaign, what=what, node=look_up.explain(world, what))
    except KeyError:
        raise InputError((Problem(
            file="", line=None, key="WHAT", found=f'"{what}"', expected="a name that this campaign has",
            try_=f"one of {', '.join(look_up.near(world, what))}",
        ),)) from None  # fmt: skip


def compare(
    folder: Path | str, other: Path | str | None = None, *, before: datetime.date | None = None
) -> Held:
    """What changed from one campaign to another, or from the runs before a date to all of them. Writes nothing.

    Args:
        folder: the earlier campaign. other: the later one. before: in place of `other`, the first day that is new.
    Raises:
        InputError: with every problem of the folders; not one of `other` and `before` was given.
    """
    from headrace.files import differences
    from headrace.files import folder as folders
    from headrace.jobs import compare as comparing

    if (other is None) == (before is None):
        raise InputError((Problem(file="", line=None, key="", found="no second campaign" if other is None else "both",
                                  expected="a second DIR, or --before and a date", try_=""),))  # fmt: skip
    new = _half(folders.read(folder if other is None else other))
    old = _half(folders.read(folder) if before is None else _until(new.campaign, before))
    changed = {
        name: None
        for name in {*old.campaign.inputs, *new.campaign.inputs}
        if old.campaign.inputs.get(name) != new.campaign.inputs.get(name)
    }
    keys = () if other is None else differences.keys_changed(folder, other, changed)
    return Held(
        before=old.campaign,
        after=new.campaign,
        compared=comparing.compare(old, new, keys=keys),
        notices=new.notices,
    )


def _half(campaign: Campaign) -> "Half":
    from headrace.jobs import compare as comparing
    from headrace.jobs.reduce import reduce as _reduce

    done = Reduction(campaign=campaign, reduced=_reduce(campaign))
    answer = None if campaign.engine is None else setpoints_of(done).answer
    return comparing.Half(campaign=campaign, reduced=done.reduced, answer=answer)


def _until(campaign: Campaign, day: datetime.date) -> Campaign:
    """The campaign as it stood before a day: its later runs, and those that rest on one, are not there."""
    runs = {key: run for key, run in campaign.runs.items() if run.date < day}
    runs = {key: run for key, run in runs.items() if run.minus is None or run.minus in runs}
    gone = tuple(f"runs/{key}/" for key in campaign.runs if key not in runs)
    inputs = {name: digest for name, digest in campaign.inputs.items() if not name.startswith(gone)}
    notices = tuple(one for one in campaign.notices if one.run is None or one.run in runs)
    return replace(campaign, runs=runs, inputs=inputs, notices=notices)


def setpoints_of(reduction: Reduction) -> Balanced:
    """Set points of the design point, for a campaign that was reduced already."""
    return _setpoints(reduction, None, None, None)


def _setpoints(
    done: Reduction, p_chamber: float | None, m_dot: float | None, of_ratio: float | None
) -> Balanced:
    from headrace.jobs import balance

    _engine(done.campaign)
    design = done.campaign.engine.design if done.campaign.engine is not None else None
    if design is not None:
        if p_chamber is None and m_dot is None:
            p_chamber, m_dot = design.p_chamber, design.m_dot
        of_ratio = design.of_ratio if of_ratio is None else of_ratio
    request: dict[str, float | None] = {"p_chamber": p_chamber, "m_dot": m_dot, "of_ratio": of_ratio}
    try:
        answer = balance.setpoints(
            done.campaign, done.reduced, p_chamber=p_chamber, m_dot=m_dot, of_ratio=float(of_ratio or 0.0)
        )
    except NoAnswer as fault:
        answer = _without(done.reduced, fault)
    return Balanced(campaign=done.campaign, reduced=done.reduced, request=request, answer=answer)


def _engine(campaign: Campaign) -> None:
    if campaign.engine is None:
        raise InputError((Problem(
            file="engine.toml", line=None, key="", found="no engine",
            expected="chamber, c*, design point, tanks and feeds",
            try_="uncomment engine.toml as `new` writes it and make it yours",
        ),))  # fmt: skip


def _signed_by(campaign: Campaign, answer: Answer, name: str) -> Answer:
    """The answer, with a doubt when a name signs that the campaign does not know."""
    from headrace.files.schema.fields import meant

    if not campaign.signers or name in campaign.signers:
        return answer
    doubt = Notice(
        code="signer-not-named",
        severity=Severity.DOUBT,
        text=f"{name} signed, but campaign.toml names {', '.join(campaign.signers)}.",
        limit="signers, campaign.toml",
        try_=f"{meant(name, campaign.signers)}, or add the name to campaign.toml",
        about="signature",
    )
    return replace(answer, notices=merged((doubt,), answer.notices))


def _without(reduced: "Reduced", fault: NoAnswer) -> Answer:
    """An answer that says why there is none."""
    about, why = (fault.side, fault.why) if isinstance(fault, Infeasible) else ("", str(fault))
    if about and not re.search(rf"\b{re.escape(about)}(idiser)?\b", why):  # "ox" is the oxidiser
        why = f"{about}: {why}"
    limit, try_ = (fault.limit, fault.try_) if isinstance(fault, Infeasible) else ("", "")
    stop = Notice(
        code="infeasible", severity=Severity.STOP, about=about, limit=limit or "the balance of the engine",
        text=f"This point cannot be reached: {why}", try_=try_ or "ask for another point, or change what is named",
    )  # fmt: skip
    return Answer(
        values={}, budgets={}, correlation=None, parts={}, facts={}, notices=merged((stop,), reduced.notices)
    )


def _stopped(campaign: Campaign, notices: tuple[Notice, ...]) -> bool:
    excluded = {run.id for run in campaign.runs.values() if run.excluded is not None}
    return stands(notice for notice in notices if notice.run not in excluded)


@contextmanager
def _writing(folder: Path | str) -> Iterator[None]:
    """Turns what the system refuses while writing into a problem that names the place."""
    try:
        yield
    except OSError as fault:
        where = fault.filename2 or fault.filename or folder
        raise InputError((Problem(
            file=str(where), line=None, key="", found=f"it cannot be written ({fault.strerror or fault})",
            expected="a folder that may be written", try_="mend its permissions, or copy the campaign elsewhere",
        ),)) from fault  # fmt: skip
