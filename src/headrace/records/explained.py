"""Where a number comes from, as a tree. Made by `paper.explain`."""

from dataclasses import dataclass

from headrace.records.answers import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One thing and what it was made from.

    kind: "result", "reading", "run", "source", "certificate" or "notice" of what was made; of a leaf "file" (its bytes,
    with sha256, lines or key), "default" (`whose` it is) or "published" (the source in `whose`). quantity: with its
    doubt, or None; value, unit: a plain number instead. text: in words. share, contribution: of u squared, and of u, of
    what stands above, where it is a source. lines: first and last, (0, 0) for a whole file. key: where in a file it
    was typed, or the source's own name.
    """

    kind: str
    title: str
    text: str = ""
    quantity: Estimate | None = None
    value: float | None = None
    unit: str = ""
    share: float | None = None
    contribution: float | None = None
    file: str = ""
    sha256: str = ""
    lines: tuple[int, int] = (0, 0)
    key: str = ""
    whose: str = ""
    children: "tuple[Node, ...]" = ()

    @property
    def leaf(self) -> bool:
        """True where nothing lies behind it."""
        return self.kind in ("file", "default", "published")
