"""The tree behind a number, in words: each leaf a file with its hash, a default and whose it is, or what was published.

Sources that carry next to nothing are told in one line; JSON has them all. Start at `tell`.
"""

import textwrap
from collections.abc import Iterator, Sequence

import click

from headrace.doors.spoken.common import counted
from headrace.doors.terminal import WIDTH
from headrace.paper.numbers import bounds, pieces
from headrace.records.explained import Node

LEAST = 0.005
"""Share of u squared below which a source is told with others in one line."""
HASH = 12
"""Digits of a sha256 that are shown."""


def tell(node: Node) -> None:
    """The whole tree."""
    for line in lines(node):
        click.echo(line)


def lines(node: Node) -> Iterator[str]:
    """The tree, line by line, within the width of the terminal."""
    yield from _wrapped("", "", said(node))
    yield from _below(node.children, "")


def said(node: Node) -> str:
    """One node in words."""
    if node.kind == "file":
        return _file(node)
    if node.kind in ("default", "published"):
        whose = f" ({node.whose})" if node.whose and node.whose != node.title else ""
        return f"{node.kind}: {node.title}{whose}"
    parts = [f"certificate {node.title}" if node.kind == "certificate" else node.title]
    if node.quantity is not None:
        share = f"{100 * node.quantity.coverage:.3g} %"
        parts.append(f"{pieces(node.quantity)} ({bounds(node.quantity)}, {share})")
    elif node.value is not None:
        symbol = "u = " if node.kind == "source" else ""
        parts.append(f"{symbol}{node.value:.6g}" + (f" {node.unit}" if node.unit not in ("", "1") else ""))
    if node.share is not None:
        parts.append(f"{100 * node.share:.1f} % of u\u00b2")
    if node.text:
        parts.append(node.text)
    if node.kind == "notice" and node.whose:
        parts.append(f"limit: {node.whose}")
    return "; ".join(parts)


def _file(node: Node) -> str:
    first, last = node.lines
    where = f", lines {first} to {last}" if last else ""
    key = f", {node.key}" if node.key else ""
    return f"{node.file}{where}{key}, sha256 {node.sha256[:HASH]}"


def _below(children: Sequence[Node], margin: str) -> Iterator[str]:
    shown = [one for one in children if one.share is None or abs(one.share) >= LEAST]
    rest = len(children) - len(shown)
    for place, child in enumerate(shown):
        last = place == len(shown) - 1 and not rest
        yield from _wrapped(
            margin + ("\u2514 " if last else "\u251c "), margin + ("  " if last else "\u2502 "), said(child)
        )
        yield from _below(child.children, margin + ("  " if last else "\u2502 "))
    if rest:
        yield f"{margin}\u2514 {counted(rest, 'smaller source', 'smaller sources')} of doubt; --json has them all"


def _wrapped(first: str, then: str, text: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=then + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
