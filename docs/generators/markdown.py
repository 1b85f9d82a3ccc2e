"""Tables and headings in Markdown."""

from collections.abc import Iterable, Sequence


def made(title: str, *parts: str) -> str:
    """A generated page: title, the note that it is generated, then its parts with a blank line between them."""
    note = "<!-- Made from the code by `make docs`; do not edit here. -->"
    return "\n\n".join((f"# {title}", note, *(part.strip("\n") for part in parts))) + "\n"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; bars and line ends inside cells are made harmless."""
    lines = [_row(head), _row(["---"] * len(head)), *(_row(row) for row in rows)]
    return "\n".join(lines)


def code(text: str) -> str:
    """Text set as code; nothing for nothing."""
    return f"`{text}`" if text else ""


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(" ".join(cell.replace("|", "\\|").split()) for cell in cells) + " |"
