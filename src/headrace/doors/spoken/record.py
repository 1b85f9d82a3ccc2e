"""A logger file in words: what was understood, what was refused line by line, what must be asked."""

from headrace.doors.spoken.common import counted
from headrace.doors.terminal import heading, indented, line, table
from headrace.files.bring import Brought
from headrace.files.loggers.report import Understanding

SHOWN_BAD = 10


def understood(report: Understanding) -> None:
    """Dialect, time, columns, bad lines, questions."""
    dialect, time = report.dialect, report.time
    line(
        f"{counted(report.rows, 'row', 'rows')} in {counted(len(report.segments), 'segment', 'segments')}; "
        f"{dialect.encoding}, fields by {dialect.delimiter}, decimal {dialect.decimal}, "
        f"{counted(dialect.header_lines, 'line', 'lines')} of heading."
    )
    if time.first is not None and time.last is not None:
        rate = f", {time.rate:.6g} rows a second" if time.rate is not None else ""
        begins = f"; begins at {time.start}" if time.start else ""
        line(f"Time in {time.column or 'no column'}: {time.last - time.first:.6g} s long{rate}{begins}.")
        line(
            f"{counted(time.gaps, 'gap', 'gaps')}, {counted(time.repeats, 'repeat', 'repeats')}, "
            f"{counted(time.backward_steps, 'step back', 'steps back')} in the clock."
        )
    heading("Columns, in the file's own units")
    rows = [
        (
            one.name, one.unit or "not said", _number(one.first), _number(one.last), _number(one.min),
            _number(one.max), str(one.missing),
        )
        for one in report.columns
    ]  # fmt: skip
    table(("column", "unit", "first", "last", "least", "most", "missing"), rows, right=(2, 3, 4, 5))
    _bad(report)
    for note in report.notes:
        indented("  ", note)
    if report.questions:
        heading(f"Questions that the bytes do not settle: {len(report.questions)}")
        for question in report.questions:
            choices = f" One of: {', '.join(question.candidates)}." if question.candidates else ""
            indented("  ", f"{question.text}.{choices} Answer with {question.key} in run.toml.")


def _bad(report: Understanding) -> None:
    if not report.lines.bad:
        return
    heading(f"Lines not used: {report.lines.bad}")
    for reason, count in sorted(report.bad_counts.items(), key=lambda item: -item[1]):
        numbers = [str(number) for number, why in report.bad_lines if why == reason]
        more = ", ..." if count > SHOWN_BAD else ""
        indented("  ", f"{count}: {reason} (line {', '.join(numbers[:SHOWN_BAD])}{more})")


def brought(done: Brought, open_keys: tuple[str, ...]) -> None:
    """Where it went, how its columns were mapped, and what to answer next."""
    heading(f"Run {done.run}: {done.file}, sha256 {done.sha256[:16]}...")
    for column, tag in done.mapped.items():
        indented("  ", f"{column}: instrument {tag}")
    if done.unmapped:
        indented("  ", f"not mapped: {', '.join(done.unmapped)}")
    for note in done.notes:
        indented("  ", note)
    if open_keys:
        line(
            f"Answer next, in runs/{done.run}/run.toml: {', '.join(open_keys)}. Until then headrace check exits 1."
        )


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:.6g}"
