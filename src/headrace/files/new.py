"""A starter folder: the least that is a campaign, and every other key as a commented example with its explanation.

In the files `##` begins an explanation and `# ` a key that may be used: `uncommented` takes the latter's mark away.
"""

import datetime
from importlib import resources
from pathlib import Path

from headrace.errors import InputError, Problem
from headrace.files.write import write_text

FILES = (
    "campaign.toml",  # first: with it alone the folder is a campaign already, whatever happens next
    "bench.toml",
    "certificates.toml",
    "article.toml",
    "engine.toml",
    "ledger.toml",
    "runs/EXAMPLE-logged.toml.txt",
    "runs/EXAMPLE-by-hand.toml.txt",
    "runs/EXAMPLE-bucket.toml.txt",
)


DATE = "2026-01-01"
"""Stands at the beginning of a line, uncommented, in the starter campaign.toml alone."""


def new(folder: Path | str, *, date: datetime.date) -> tuple[str, ...]:
    """Write a starter campaign into a new or empty folder; names that begin with a dot do not count.

    Args:
        date: that campaign.toml carries; the day on which the folder is begun.
    Returns:
        The files written, relative to the folder.
    Raises:
        InputError: there is something in the folder already, or it is no folder; nothing was written.
    """
    root = Path(folder)
    if root.exists() and not root.is_dir():
        raise _refused(root, "a file", "a folder")
    if root.is_dir() and (
        there := sorted(one.name for one in root.iterdir() if not one.name.startswith("."))
    ):
        raise _refused(root, f"a folder with {', '.join(there[:3])} in it", "a new or an empty folder")
    try:
        for name in FILES:
            write_text(root / name, starter(name).replace(f"\ndate = {DATE}", f"\ndate = {date.isoformat()}"))
    except OSError:  # a full disk: half a starter would stand in the way of the next try
        for name in FILES:
            (root / name).unlink(missing_ok=True)
        raise
    return FILES


def starter(name: str) -> str:
    """Text of one starter file."""
    place = resources.files("headrace.files") / "starter"
    for part in name.split("/"):
        place = place / part
    return place.read_text(encoding="utf-8")


def uncommented(text: str) -> str:
    """A starter file with its examples live: one "# " taken from each line that begins so; "##" stays a comment."""
    return "\n".join(line.removeprefix("# ") for line in text.split("\n"))


def _refused(root: Path, found: str, expected: str) -> InputError:
    return InputError((Problem(file=str(root), line=None, key="", found=found, expected=expected,
                               try_="another name: nothing is written over"),))  # fmt: skip
