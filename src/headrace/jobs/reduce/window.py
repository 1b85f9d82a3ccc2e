"""Which part of a run counts: opening, settling, sweep, breakthrough, closing, found from E itself. Start at `find`.

E is what should be steady while pressure and flow both fall. The middle of the quietest stretch gives a
straight line in ln E with its scatter; from there the window grows both ways until ln E leaves that line for
good.
"""

import numpy as np
from numpy.typing import NDArray

from headrace.records.given import RunGiven
from headrace.records.readings import Window

Array = NDArray[np.float64]

BLOCK = 0.05
"""Seconds of one block mean, at least: E of a block must stand out of its noise."""

LEAVES = 5.0
"""A block has left the line when it is off by more than this many of the middle blocks' scatter..."""

FLOOR = 0.003
"""... and by more than this in ln E: below it a bend is not worth losing data for."""

MARGIN = 0.2
"""Seconds kept clear of the first block that has left."""

WILD = 10.0
"""Movement of ln E that stands for a block without a value: never quiet."""

LEAST_BLOCKS = 6

QUIET_SHARE = 25
"""Per cent of the flow that is taken to be quiet, at least."""

NOISY = 3.0
"""Movement from block to block beyond this many times the quiet one is not quiet."""


def find(time: Array, ln_area: Array, *, on: tuple[float, float], lag: float) -> Window:
    """The longest stretch around the middle of the flow in which ln E keeps to one straight line.

    Args:
        time, ln_area: per sample, NaN where there is no value.
        on: first and last time of flow [s].
        lag: slowest time constant of the channels that make up E [s].
    """
    blocks, width = _blocks(time, ln_area, on)
    if len(blocks) < LEAST_BLOCKS:
        return Window(start=on[0], end=on[1], chosen="found", phases=())
    at, value = blocks[:, 0], blocks[:, 1]
    quiet = _quietest(value)
    quarter = (quiet.stop - quiet.start) // 4
    middle = slice(quiet.start + quarter, quiet.stop - quarter)
    slope, level = _robust_line(at[middle], value[middle])
    off = np.abs(value - level - slope * at)
    scatter = 1.4826 * float(np.median(off[middle]))
    left = off > max(LEAVES * scatter, FLOOR)
    left |= ~np.isfinite(value)
    centre = (quiet.start + quiet.stop) // 2
    first = _edge(left[: centre + 1][::-1])
    last = _edge(left[centre:])
    start = float(at[centre - first]) - width / 2 + max(MARGIN, 5 * lag)
    end = max(float(at[centre + last]) + width / 2 - MARGIN, start)
    opened = min(on[0] + max(MARGIN, 5 * lag), start)
    closing = on[1] - MARGIN
    broke = (
        closing if closing - end > MARGIN else end
    )  # between window and closing E has left its line: gas, mostly
    phases = (
        ("opening", on[0], opened),
        ("settling", opened, start),
        ("sweep", start, end),
        ("breakthrough", end, broke),
        ("closing", broke, on[1]),
    )
    return Window(start=start, end=end, chosen="found", phases=tuple(p for p in phases if p[2] - p[1] > 1e-9))


def chosen(run: RunGiven, time: Array, ln_area: Array, *, on: tuple[float, float], lag: float) -> Window:
    """The window a person typed, with its reason, else the one found. Phases are the found ones either way."""
    found = find(time, ln_area, on=on, lag=lag)
    typed = run.window
    if typed is None:
        return found
    return Window(start=typed.start, end=typed.end, chosen=f"typed: {typed.reason}", phases=found.phases)


def doubt(time: Array, ln_area: Array, window: Window) -> float:
    """Half of what ln E moves when either end of the window is moved in by 20 %: a standard uncertainty."""
    whole = _mean(time, ln_area, (window.start, window.end))
    moved = [_mean(time, ln_area, span) for span in shifted(window)]
    off = [abs(value - whole) for value in moved if np.isfinite(value)]
    return 0.5 * max(off) if off and np.isfinite(whole) else 0.0


def _mean(time: Array, ln_area: Array, span: tuple[float, float]) -> float:
    inside = (time >= span[0]) & (time <= span[1]) & np.isfinite(ln_area)
    return float(np.mean(ln_area[inside])) if np.any(inside) else float("nan")


def shifted(window: Window, share: float = 0.2) -> tuple[tuple[float, float], tuple[float, float]]:
    """The window with its start, and with its end, moved inwards by a share of its length [s]."""
    step = share * (window.end - window.start)
    return (window.start + step, window.end), (window.start, window.end - step)


def _blocks(time: Array, ln_area: Array, on: tuple[float, float]) -> tuple[Array, float]:
    """Block means of ln E over the flow: rows of (time, value), and the width of a block [s]."""
    inside = (time >= on[0]) & (time <= on[1])
    count = int(np.count_nonzero(inside))
    if count < 2:
        return np.empty((0, 2)), 0.0
    span = on[1] - on[0]
    per_block = max(int(np.ceil(BLOCK / (span / count))), 4)
    whole = count // per_block
    t = time[inside][: whole * per_block].reshape(whole, per_block)
    y = ln_area[inside][: whole * per_block].reshape(whole, per_block)
    good = np.isfinite(y)
    number = good.sum(axis=1)
    mean = np.where(number > per_block // 2, np.where(good, y, 0).sum(axis=1) / np.maximum(number, 1), np.nan)
    return np.stack([t.mean(axis=1), mean], axis=1), span / count * per_block


def _quietest(value: Array) -> slice:
    """The longest stretch of blocks in which E moves from block to block as little as it does where it is quiet.

    Gas that comes through early, or a slow priming, then spoils the ends and not the line.
    """
    steps = np.abs(np.diff(value))
    if not np.any(np.isfinite(steps)):
        return slice(0, len(value))
    steps = np.where(np.isfinite(steps), steps, WILD)
    width = max(len(steps) // 10, 4)
    local = np.median(np.lib.stride_tricks.sliding_window_view(steps, width), axis=-1)
    seen = local[local < WILD]
    if seen.size == 0:
        return slice(0, len(value))
    level = float(np.percentile(seen, QUIET_SHARE))
    calm = local <= max(NOISY * level, FLOOR / 10)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], calm.astype(int), [0]))))
    starts, ends = edges[::2], edges[1::2]
    if starts.size == 0:
        return slice(0, len(value))
    longest = int(np.argmax(ends - starts))
    return slice(int(starts[longest]), int(ends[longest]) + width)


def _robust_line(x: Array, y: Array) -> tuple[float, float]:
    """Slope by the difference of the halves' medians, level by the median residue: unmoved by a few wild blocks."""
    known = np.isfinite(y)
    x, y = x[known], y[known]
    half = len(x) // 2
    if half == 0:
        return 0.0, float("nan")
    run = float(np.median(x[-half:]) - np.median(x[:half]))
    slope = float(np.median(y[-half:]) - np.median(y[:half])) / run
    return slope, float(np.median(y - slope * x))


def _edge(left: NDArray[np.bool_]) -> int:
    """How many blocks outwards from the centre stay, until two in a row have left."""
    both = left[:-1] & left[1:]
    index = np.flatnonzero(both)
    stays = int(index[0]) if index.size else len(left)
    inside = np.flatnonzero(~left[:stays])
    return int(inside[-1]) if inside.size else 0
