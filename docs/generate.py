"""Writes the pages that are made from the code: `make docs`. With --check it only says which are stale, and exits 1.

Every page is a function in `generators/`, one line in PAGES. What is written by hand is not touched.
"""

import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

DOCS = Path(__file__).resolve().parent
sys.path[:0] = [str(DOCS), str(DOCS.parent / "src")]

from generators import checks, commands, findings, folder, schemas  # noqa: E402 - found by the line above

PAGES: Mapping[str, Callable[[Path], str]] = {
    "folder.md": folder.page,
    "findings.md": findings.page,
    "checks.md": checks.page,
    "commands.md": commands.page,
    **{f"schema/{kind}.json": schemas.page(kind) for kind in schemas.KINDS},
}


def stale(root: Path = DOCS.parent) -> Iterator[tuple[Path, str]]:
    """Pages that differ from what the code says now, each with its new text; pages nobody makes have none."""
    home = root / "docs"
    for name, make in PAGES.items():
        path, text = home / name, make(root)
        if not path.is_file() or path.read_text(encoding="utf-8") != text:
            yield path, text
    for path in sorted((home / "schema").glob("*")):
        if f"schema/{path.name}" not in PAGES:
            yield path, ""


def main(arguments: list[str]) -> int:
    """Write or check; the exit code."""
    only_look = arguments == ["--check"]
    if arguments and not only_look:
        print("usage: python docs/generate.py [--check]", file=sys.stderr)
        return 2
    found = list(stale())
    for path, text in found:
        print(f"{path.relative_to(DOCS.parent)} {'is stale: make docs' if only_look else 'written'}")
        if only_look:
            continue
        if text:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        else:
            path.unlink()
    return 1 if only_look and found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
