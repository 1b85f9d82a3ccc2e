"""A logger file in words: what was understood, what was refused line by line, what must be asked."""

from headrace.doors.spoken.common import counted
from headrace.doors.terminal import heading, indented, line, table
from headrace.files.bring import Brought
from headrace.files.caught import roles_of
from headrace.files.loggers.report import Understanding
from headrace.files.traces import logger_key, typed

SHOWN_BAD = 10
SHOWN_ABOVE = 8


def understood(report: Understanding) -> None:
    """Family, dialect, time, segments, columns, lines not used, questions."""
    dialect, time = report.dialect, report.time
    thousands = f", {dialect.thousands}s between thousands" if dialect.thousands else ""
    line(
        f"{counted(report.rows, 'row', 'rows')} in {counted(len(report.segments), 'segment', 'segments')}; "
        f"family {report.family}, {dialect.encoding}, fields by {dialect.delimiter}, decimal {dialect.decimal}"
        f"{thousands}, {counted(dialect.header_lines, 'line', 'lines')} of heading."
    )
    _segments(report)
    if roles_of(report) is not None:
        line("It looks like a table of catches: one row is one catch, and no clock is needed.")
    elif time.first is not None and time.last is not None:
        rate = f", {time.rate:.6g} rows a second" if time.rate is not None else ""
        begins = f"; begins at {time.start}" if time.start else ""
        unit = f" [{time.unit}]" if time.unit else ""
        several = f" in {len(report.segments)} segments" if len(report.segments) > 1 else ""
        line(
            f"Time in {time.column or 'no column'}{unit}: {_length(report):.6g} s long{several}{rate}{begins}."
        )
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
    missing = [
        one.name for one in report.columns if one.used and one.unit is None and one.name != time.column
    ]
    if missing:
        indented("  ", f"no unit is said for {', '.join(missing)}")
    for name, why in report.dropped:
        indented("  ", f"{name} gives no numbers: {why}")
    _bad(report)
    _aside(report)
    _wild(report)
    _above(report)
    for note in report.notes:
        indented("  ", note)
    if report.questions:
        heading(f"Questions that the bytes do not settle: {len(report.questions)}")
        for question in report.questions:
            choices = f" One of: {', '.join(typed(question))}." if question.candidates else ""
            indented("  ", f"{question.text}.{choices} Answer with {question.key} in run.toml.")


def _length(report: Understanding) -> float:
    """Seconds of all segments together: a clock that began anew says nothing of what lies between."""
    spans = [(one.first, one.last) for one in report.segments]
    return sum(last - first for first, last in spans if first is not None and last is not None)


def _bad(report: Understanding) -> None:
    if not report.lines.bad:
        return
    heading(f"Lines not used: {report.lines.bad}")
    for reason, count in sorted(report.bad_counts.items(), key=lambda item: -item[1]):
        numbers = [str(number) for number, why in report.bad_lines if why == reason]
        more = ", ..." if count > SHOWN_BAD else ""
        indented("  ", f"{count}: {reason} (line {', '.join(numbers[:SHOWN_BAD])}{more})")


def _segments(report: Understanding) -> None:
    if len(report.segments) < 2:
        return
    for number, one in enumerate(report.segments[:SHOWN_BAD], 1):
        indented(
            "  ", f"segment {number}: lines {one.first_line} to {one.last_line}, {one.rows} rows, {one.why}"
        )
    if len(report.segments) > SHOWN_BAD:
        indented("  ", f"and {len(report.segments) - SHOWN_BAD} more segments")


def _aside(report: Understanding) -> None:
    for what, count in sorted(report.aside_counts.items(), key=lambda item: -item[1]):
        numbers = [str(number) for number, one in report.aside_lines if one == what]
        more = ", ..." if count > SHOWN_BAD else ""
        indented("  ", f"{count} beside the rows: {what} (line {', '.join(numbers[:SHOWN_BAD])}{more})")


def _wild(report: Understanding) -> None:
    if not report.wild:
        return
    heading(f"Values that stand alone: {sum(report.wild_counts.values())}")
    for one in report.wild[:SHOWN_BAD]:
        near = " and ".join(f"{value:.6g}" for value in (one.before, one.after) if value is not None)
        indented("  ", f"{one.column}, line {one.line}: {one.value:.6g} between {near}")
    if sum(report.wild_counts.values()) > SHOWN_BAD:
        indented(
            "  ", "and more: " + ", ".join(f"{count} in {name}" for name, count in report.wild_counts.items())
        )
    indented("  ", "a reduction leaves such values out and says so; the file is not changed")


def _above(report: Understanding) -> None:
    """What the file says of itself, beside what its name says: neither is trusted."""
    said = [text for text in report.dialect.headings if text not in report.dialect.titles][:SHOWN_ABOVE]
    if len(said) > 1:
        heading("Above the data")
        for text in said:
            indented("  ", text[:100])


def brought(done: Brought, open_keys: tuple[str, ...]) -> None:
    """Where it went, how its columns were mapped, and what to answer next."""
    heading(f"Run {done.run}: {done.file}, sha256 {done.sha256[:16]}...")
    for column, tag in done.mapped.items():
        indented("  ", f"{column}: instrument {tag}")
    if done.unmapped:
        indented("  ", f"not mapped: {', '.join(done.unmapped)}")
    for note in done.notes:
        indented("  ", note)
    said = [", ".join(open_keys)] if open_keys else []
    if asked := [logger_key(one.key).removeprefix("logger.") for one in done.understanding.questions]:
        said.append(f"under [{done.also}logger]: {', '.join(dict.fromkeys(asked))}")
    if done.unmapped:
        said.append(f"under [{done.also}channels], where they are wanted: {', '.join(done.unmapped)}")
    if said:
        waits = " Until then headrace check exits 1." if open_keys or asked else ""
        line(f"Answer next, in runs/{done.run}/run.toml: {'; '.join(said)}.{waits}")


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:.6g}"
