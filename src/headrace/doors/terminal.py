"""Text for a terminal: lines, headings and tables within 100 columns; plain when piped, ruled on a screen."""

import sys
import textwrap
from collections.abc import Sequence

import click

WIDTH = 100
GAP = "  "
NARROWEST = 24


def heading(text: str) -> None:
    """A heading with a blank line above it."""
    click.echo()
    click.echo(click.style(text, bold=True))


def line(text: str = "") -> None:
    """One paragraph, wrapped."""
    click.echo("\n".join(wrapped(text, WIDTH)))


def indented(first: str, text: str, *, by: int = 4) -> None:
    """A paragraph that begins with `first` and goes on indented."""
    click.echo(
        textwrap.fill(
            f"{first}{text}",
            WIDTH,
            subsequent_indent=" " * by,
            break_long_words=False,
            break_on_hyphens=False,
        )
    )


def wrapped(text: str, width: int) -> list[str]:
    """A text in lines of at most so many columns, words kept whole."""
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False) or [""]


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> None:
    """A table; the last column wraps where the whole would be too wide. right: columns flush right."""
    if sys.stdout.isatty():
        _ruled(head, rows, right)
        return
    widths = [max(len(row[at]) for row in (head, *rows)) for at in range(len(head))]
    room = WIDTH - sum(widths[:-1]) - len(GAP) * (len(widths) - 1)
    widths[-1] = min(widths[-1], max(room, NARROWEST))
    for row in (head, *rows):
        last = wrapped(row[-1], widths[-1])
        cells = [
            cell.rjust(width) if at in right else cell.ljust(width)
            for at, (cell, width) in enumerate(zip((*row[:-1], last[0]), widths, strict=True))
        ]
        click.echo(GAP.join(cells).rstrip())
        indent = " " * (sum(widths[:-1]) + len(GAP) * (len(widths) - 1))
        for rest in last[1:]:
            click.echo(indent + rest)


def _ruled(head: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    made = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for at, name in enumerate(head):
        made.add_column(
            Text(name),
            justify="right" if at in right else "left",
            no_wrap=at < len(head) - 1,
            overflow="fold",
        )
    for row in rows:
        made.add_row(*(Text(cell) for cell in row))
    console.print(made, width=min(WIDTH, console.width))
