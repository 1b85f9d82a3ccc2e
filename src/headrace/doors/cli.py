"""The commands. A door parses, calls one job of `headrace.app`, and prints.

What is heavy is imported inside the command that needs it, so that `--help` answers at once.
"""

import click

from headrace import __version__
from headrace.doors.faults import DONE, MEND, STANDS, Door, guarded, say, tell

FOLDER = click.argument("folder", metavar="DIR", type=click.Path())
JSON = click.option(
    "--json", "as_json", is_flag=True, help="the same numbers as JSON, SI, described in docs/json.md"
)
EXITS = """\b
exit: 0 done; 1 done, but a stop stands or a question is open; 2 mend the input; 3 our fault"""


@click.group(
    cls=Door, epilog=EXITS, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="headrace")
def cli() -> None:
    """Water runs in, tank pressures out: from the water runs of an injector to the set points of its tanks, with doubt.

    headrace actuates nothing. It is no substitute for local codes and licensed practice.
    """


@cli.command(short_help="an invented campaign, taken from raw files to its sheet", epilog=EXITS)
@FOLDER
@JSON
@guarded("demo")
def demo(folder: str, as_json: bool) -> int:
    """An invented campaign, written to DIR, reduced, and brought to DIR/results/sheet.pdf and report.html."""
    from headrace.demo import show
    from headrace.doors.spoken import shown

    done = show.show(folder)
    if as_json:
        click.echo(shown.as_json(done))
    else:
        shown.tell(done)
    return STANDS if done.balanced.stopped else DONE


@cli.command(short_help="a starter campaign, every key explained", epilog=EXITS)
@FOLDER
@JSON
@guarded("new")
def new(folder: str, as_json: bool) -> int:
    """A starter campaign in a new or empty DIR, with every key explained."""
    from headrace import app, serial

    files = app.new(folder)
    if as_json:
        click.echo(serial.text(serial.new(files)))
    else:
        click.echo("\n".join(f"{folder}/{name}" for name in files))
        click.echo(
            "Each file explains its keys. Next: bench.toml, article.toml; then headrace bring DIR FILE."
        )
    return DONE


@cli.command(short_help="is the folder in order: problems, open questions, signed sheets", epilog=EXITS)
@FOLDER
@JSON
@guarded("check")
def check(folder: str, as_json: bool) -> int:
    """Is the campaign in order: every problem with file and line, open questions, signed sheets."""
    from headrace import app, serial
    from headrace.doors.spoken import common
    from headrace.notices import stands

    found = app.check(folder)
    if as_json:
        document = serial.check(problems=found.problems, questions=found.questions, notices=found.notices)
        click.echo(serial.text(document))
    elif found.campaign is not None:
        common.title(found.campaign, found.notices)
    if found.problems:
        tell(
            found.problems,
            last=f"{common.counted(len(found.problems), 'problem', 'problems')} to mend. Nothing was written.",
        )
    if not as_json:
        common.asked(found.questions)
        common.doubts([one for one in found.notices if one.code != "question-open"], found.campaign)
    if found.problems:
        return MEND
    excluded = common.left_out(found.campaign) if found.campaign is not None else set()
    standing = stands(one for one in found.notices if one.run not in excluded)
    return STANDS if standing or found.questions else DONE


@cli.command(
    short_help="a logger file into the campaign as a new run",
    epilog="""\b
exit: 0 understood; 1 understood, but the bytes leave a question; 2 unreadable, or mend the input.
What the draft leaves open ("?") is listed, and counts for check: it exits 1 until all is answered.""",
)
@click.argument("paths", metavar="[DIR] FILE", nargs=-1, required=True, type=click.Path())
@click.option("--look", "only_look", is_flag=True, help="only say what FILE holds; nothing is written")
@click.option("--run", metavar="ID", help="id of the new run (default: the next free W01, W02, ...)")
@click.option("--also", metavar="RUN", help="into this run, as the file of a second logger")
@JSON
@guarded("bring")
def bring(paths: tuple[str, ...], only_look: bool, run: str | None, also: str | None, as_json: bool) -> int:
    """A logger file into the campaign: FILE copied with its hash, what was understood, run.toml drafted."""
    from headrace import app, serial
    from headrace.doors.spoken import record
    from headrace.files.drafts import open_keys
    from headrace.files.loggers.report import json_of

    if only_look:
        if len(paths) > 2 or run is not None or also is not None:
            raise click.UsageError("--look takes one FILE, and neither --run nor --also.")
        report = app.look(paths[-1])
        if as_json:
            click.echo(serial.text(serial.look(json_of(report), notes=report.notes)))
        else:
            record.understood(report)
        return STANDS if report.questions else DONE
    if len(paths) != 2:
        raise click.UsageError("give the campaign's DIR and the logger's FILE, or --look FILE.")
    if run is not None and also is not None:
        raise click.UsageError("--run names a new run, --also one that is there; give one.")
    done = app.bring(paths[0], paths[1], run=run, also=also)
    report, keys = done.understanding, open_keys(done.draft)
    if as_json:
        document = serial.bring(
            json_of(report), notes=(*report.notes, *done.notes), run=done.run, file=done.file, sha256=done.sha256,
            mapped=done.mapped, unmapped=done.unmapped, draft_open=keys,
        )  # fmt: skip
        click.echo(serial.text(document))
    else:
        record.understood(report)
        record.brought(done, keys)
    return STANDS if report.questions else DONE


@cli.command(short_help="every run to readings: the effective area of each circuit", epilog=EXITS)
@FOLDER
@click.option(
    "--processes",
    type=click.IntRange(1),
    metavar="N",
    help="read and reduce runs in N processes (default: one for few data, else one for each core)",
)
@JSON
@guarded("reduce")
def reduce(folder: str, as_json: bool, processes: int | None) -> int:
    """Every run to readings: effective area of each circuit. Leaves results/reduce.json and readings.parquet."""
    from headrace.doors.again import again

    return again(
        folder,
        ("reduce", "json" if as_json else "text"),
        ("reduce.json", "readings.parquet"),
        lambda: _reduced(folder, as_json, processes),
    )


def _reduced(folder: str, as_json: bool, processes: int | None) -> int:
    from headrace import app, serial
    from headrace.doors.spoken import common, reduction
    from headrace.errors import InputError

    done = app.reduce(folder, processes=processes)
    if as_json:
        click.echo(serial.text(serial.reduce(done.campaign, done.reduced)))
    else:
        common.title(done.campaign, done.notices)
        reduction.bench(done.campaign)
        reduction.runs(done.reduced)
        reduction.zeros(done.campaign, done.reduced)
        reduction.circuits(done.campaign, done.reduced.characteristics)
        reduction.compared(done.reduced)
        common.doubts(done.notices, done.campaign)
    try:
        app.write_reduction(folder, done)
    except InputError as fault:  # the numbers are told all the same: results/ is derived
        tell(fault.problems, last="Nothing was written under results/.")
    return STANDS if done.stopped else DONE


@cli.command(short_help="what stands where on the bench now, by ledger.toml", epilog=EXITS)
@FOLDER
@click.option(
    "--at", metavar="TIME", help='at an earlier moment: "14:30" of the last day, or "2026-03-12 14:30"'
)
@JSON
@guarded("day")
def day(folder: str, at: str | None, as_json: bool) -> int:
    """What stands where on the bench after the last event of ledger.toml, what changed, and what contradicts itself."""
    from headrace import app, serial
    from headrace.doors import given
    from headrace.doors.spoken import bench_day, common

    done = app.day(folder, at=None if at is None else given.moment(at, option="--at"))
    if as_json:
        click.echo(serial.text(serial.day(done.campaign, done.day, done.notices)))
    else:
        common.title(done.campaign, done.notices)
        bench_day.tell(done)
        common.doubts(done.notices, done.campaign)
    return STANDS if done.stopped else DONE


@cli.command(short_help="right after a run: is it good, does it agree, what next", epilog=EXITS)
@FOLDER
@click.argument("run", metavar="RUN")
@JSON
@guarded("verdict")
def verdict(folder: str, run: str, as_json: bool) -> int:
    """Right after RUN: is it good, does it agree with the others, what next, and to what the vessels settle."""
    from headrace import app, serial
    from headrace.doors.spoken import common, judged

    done = app.verdict(folder, run)
    if as_json:
        click.echo(serial.text(serial.verdict(done.campaign, done.verdict)))
    else:
        common.title(done.campaign, done.verdict.notices)
        judged.tell(done.verdict)
        common.doubts(done.verdict.notices, done.campaign)
    return STANDS if done.stopped else DONE


@cli.command(short_help="tank pressures in; chamber pressure, O/F and flows out", epilog=EXITS)
@FOLDER
@click.option(
    "--tank", "tanks", metavar="SIDE=PRESSURE", multiple=True,
    help='flowing tank pressure on the stand\'s gauge, for both sides: --tank ox="31.4 bar(g)"',
)  # fmt: skip
@JSON
@guarded("predict")
def predict(folder: str, tanks: tuple[str, ...], as_json: bool) -> int:
    """Chamber pressure, O/F and flows that these tank pressures should give."""
    from headrace import app, serial
    from headrace.doors import given
    from headrace.doors.spoken import balanced, common, reduction

    done = app.predict(folder, tanks=given.tanks(tanks))
    if as_json:
        click.echo(serial.text(serial.answer("predict", done.campaign, done.answer, request=done.request)))
        return STANDS if done.stopped else DONE
    common.title(done.campaign, done.notices)
    balanced.asked(done)
    answered = balanced.expected(done, "Expect")
    reduction.circuits(done.campaign, done.reduced.characteristics)
    if answered:
        balanced.budgets(done)
        balanced.assumptions(done)
    common.doubts(done.notices, done.campaign)
    return STANDS if done.stopped else DONE


@cli.command(short_help="tank pressures for a wanted chamber pressure and O/F", epilog=EXITS)
@FOLDER
@click.option(
    "--pc", metavar="PRESSURE", help='chamber pressure, absolute: "20 bar(a)" (default: engine.toml)'
)
@click.option("--of", "of_ratio", metavar="RATIO", help="mixture ratio O/F: 2.2 (default: engine.toml)")
@click.option("--flow", metavar="FLOW", help='total flow instead of --pc: "10 kg/s"')
@JSON
@guarded("setpoints")
def setpoints(folder: str, pc: str | None, of_ratio: str | None, flow: str | None, as_json: bool) -> int:
    """Tank pressures for a chamber pressure (or a total flow) and O/F; without options the design point."""
    from headrace import app, serial
    from headrace.doors import given
    from headrace.doors.spoken import balanced, common, reduction

    if pc is not None and flow is not None:
        raise click.UsageError("--pc and --flow ask for two different things; give one.")
    done = app.setpoints(
        folder,
        p_chamber=None
        if pc is None
        else given.above_zero(pc, option="--pc", dimension="pressure", kind="abs"),
        m_dot=None if flow is None else given.above_zero(flow, option="--flow", dimension="mass_flow"),
        of_ratio=None if of_ratio is None else given.above_zero(of_ratio, option="--of", dimension="ratio"),
    )
    if as_json:
        click.echo(serial.text(serial.answer("setpoints", done.campaign, done.answer, request=done.request)))
        return STANDS if done.stopped else DONE
    common.title(done.campaign, done.notices)
    balanced.asked(done)
    answered = balanced.set_points(done)
    if answered:
        balanced.expected(done, "Expect, when set so")
        balanced.spreads(done)
    reduction.circuits(done.campaign, done.reduced.characteristics)
    if answered:
        balanced.budgets(done)
        balanced.assumptions(done)
    common.doubts(done.notices, done.campaign)
    return STANDS if done.stopped else DONE


@cli.command(short_help="the set-point sheet as a PDF, signed if asked", epilog=EXITS)
@FOLDER
@click.option("--sign", metavar="NAME", help="keep the sheet under signed/ as well, with what it rests on")
@JSON
@guarded("sheet")
def sheet(folder: str, sign: str | None, as_json: bool) -> int:
    """The set-point sheet of the design point, to DIR/results/sheet.pdf."""
    from headrace import app, serial
    from headrace.doors.spoken import balanced, common

    done = app.sheet(folder, sign=sign)
    if as_json:
        signed = str(done.signed) if done.signed else None
        click.echo(serial.text(serial.sheet(str(done.path), signed, done.balanced.notices)))
    else:
        common.title(done.balanced.campaign, done.balanced.notices)
        balanced.asked(done.balanced)
        balanced.set_points(done.balanced)
        common.doubts(done.balanced.notices, done.balanced.campaign)
        click.echo(f"\nSheet: {done.path}")
        if done.signed is not None:
            click.echo(f"Signed: {done.signed}")
    if sign is not None and done.signed is None:
        say("headrace: not signed: a stop stands on this sheet.")
    return STANDS if done.balanced.stopped else DONE


@cli.command(short_help="the whole campaign as one page, for screen and paper", epilog=EXITS)
@FOLDER
@JSON
@guarded("report")
def report(folder: str, as_json: bool) -> int:
    """The whole campaign as one page that needs nothing else: traces, readings, budgets, doubts, origin."""
    from headrace import app, serial
    from headrace.doors.spoken import common

    done = app.report(folder)
    if as_json:
        click.echo(serial.text(serial.report(str(done.path), done.notices)))
    else:
        common.title(done.campaign, done.notices)
        click.echo(f"\nReport: {done.path}")
    return STANDS if done.stopped else DONE


@cli.command(
    short_help="where a number comes from, back to the bytes",
    epilog="""\b
WHAT: tanks.ox, pc, area_eff.ox, W07, W07.ox[3] (third reading), W07.closure, a source of error, the code of a
doubt, an instrument, a certificate, an input file. A name that nothing has is answered with the nearest ones.

\b
exit: 0 done; 2 mend the input, or nothing has that name; 3 our fault""",
)
@FOLDER
@click.argument("what", metavar="WHAT")
@JSON
@guarded("explain")
def explain(folder: str, what: str, as_json: bool) -> int:
    """Where WHAT comes from: a tree of what it was made from, down to files with their hashes and lines."""
    from headrace import app, serial
    from headrace.doors.spoken import explained

    done = app.explain(folder, what)
    if as_json:
        click.echo(serial.text(serial.explain(done.what, done.node)))
    else:
        explained.tell(done.node)
    return DONE


@cli.command(short_help="what changed from one campaign, or date, to another", epilog=EXITS)
@FOLDER
@click.argument("other", metavar="[DIR2]", required=False, type=click.Path())
@click.option(
    "--before", metavar="DATE", help="in place of DIR2: the runs before this day against all, 2026-03-12"
)
@JSON
@guarded("compare")
def compare(folder: str, other: str | None, before: str | None, as_json: bool) -> int:
    """What changed from DIR to DIR2: inputs key by key, runs, areas and set points, each change with its doubt."""
    from headrace import app, serial
    from headrace.doors import given
    from headrace.doors.spoken import common, compared

    if (other is None) == (before is None):
        raise click.UsageError("give a second DIR2, or --before and a date.")
    done = app.compare(folder, other, before=None if before is None else given.day(before, option="--before"))
    if as_json:
        click.echo(serial.text(serial.compare(done.before, done.after, done.compared, done.notices)))
    else:
        common.title(done.after, done.notices)
        compared.tell(done.compared)
    return STANDS if done.stopped else DONE


def main() -> None:
    """The installed command."""
    cli.main(prog_name="headrace")
