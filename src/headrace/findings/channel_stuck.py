"""A channel at the end of its range, or one that stands still while the others move."""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.channels import BAR, MARKS, PRESSURES, carrying, share
from headrace.findings.evidence import Array, RunEvidence
from headrace.notices import Notice, Severity

AT_END = 2e-4
"""Within this share of span of the range's end, or beyond, a sample counts as saturated. Common practice."""

SATURATED = 0.01
"""Share of the window's samples that may lie there. Common practice."""

FROZEN = 0.5
"""Seconds that one and the same value must last, at least... """

LONGER = 8.0
"""... and this many times what its longest other stretches last: a coarse converter repeats itself too."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *stop* when the channel carries E within the window, else a *doubt*."""
    if evidence.run.trace is None or not evidence.streams:
        return ()
    spans = [stream.on for stream in evidence.streams.values()]
    flowing = (evidence.time >= min(a for a, _ in spans)) & (evidence.time <= max(b for _, b in spans))
    window = np.any([stream.within for stream in evidence.streams.values()], axis=0)
    carries = carrying(evidence)
    stored = {
        tag: values
        for tag, values in evidence.run.trace.channels.items()
        if evidence.campaign.bench.instruments[tag].measures
        in (*PRESSURES, "mass_flow", "volume_flow", "frequency")
    }
    out: list[Notice] = []
    for tag, values in stored.items():
        aside = evidence.aside.get(tag)
        counts = np.isfinite(values) if aside is None else np.isfinite(values) & ~aside.out
        full = _saturated(evidence, tag, values[window & counts], tag in carries)
        out.extend(full)
        if not full and _others_move(stored, tag, flowing):
            clear = np.where(counts, values, np.nan)
            out.extend(_frozen(evidence, tag, clear, flowing, window, tag in carries))
    return tuple(out)


def _saturated(evidence: RunEvidence, tag: str, values: Array, carries: bool) -> tuple[Notice, ...]:
    instrument = evidence.campaign.bench.instruments[tag]
    ends = values >= instrument.high - AT_END * instrument.span
    if share(ends) <= SATURATED:
        return ()
    size, unit = (BAR, MARKS[instrument.measures]) if instrument.measures in PRESSURES else (1.0, "(SI)")
    return (
        _notice(
            evidence,
            tag,
            f"{100 * share(ends):.0f} % of its samples in the window lie at or beyond the end of its range, "
            f"{instrument.high / size:g} {unit}",
            (("share", share(ends)), ("high", instrument.high)),
            f"{100 * SATURATED:g} % of the samples, common practice",
            "use a wider range, or a later window where it is off the end; what a transmitter shows beyond "
            "its range is no measurement",
            hard=carries,
        ),
    )


def _others_move(stored: dict[str, Array], tag: str, flowing: NDArray[np.bool_]) -> bool:
    return any(
        np.unique(values[flowing & np.isfinite(values)]).size > 10
        for other, values in stored.items()
        if other != tag
    )


def _frozen(
    evidence: RunEvidence,
    tag: str,
    values: Array,
    flowing: NDArray[np.bool_],
    window: NDArray[np.bool_],
    carries: bool,
) -> tuple[Notice, ...]:
    index = np.flatnonzero(flowing & np.isfinite(values))
    if index.size < 10:
        return ()
    seen = values[index]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(seen) != 0) + 1))
    ends = np.concatenate((starts[1:], [seen.size]))
    step = float(np.median(np.diff(evidence.time[index])))
    lasts = (ends - starts) * step
    longest = int(np.argmax(lasts))
    others = np.delete(lasts, longest)
    usual = float(np.sort(others)[-max(others.size // 20, 1) :].mean()) if others.size else 0.0
    if lasts[longest] <= max(FROZEN, LONGER * usual) or (not carries and others.size < 10):
        return ()
    stretch = index[starts[longest] : ends[longest]]
    begin, end = float(evidence.time[stretch[0]]), float(evidence.time[stretch[-1]])
    return (
        _notice(
            evidence,
            tag,
            f"it stands still at one and the same value from {begin:.2f} s to {end:.2f} s while other "
            "channels move",
            (("duration", float(lasts[longest])), ("usual", usual)),
            f"more than {FROZEN:g} s and {LONGER:g} times its usual repeats, common practice",
            "likely in this order: logger held the last value (bus or module dropped out); valve of the "
            "impulse line shut; plugged or frozen line; cable. Leave the stretch out of the window, or "
            "repeat the run",
            hard=carries and bool(np.any(window[stretch])),
        ),
    )


def _notice(
    evidence: RunEvidence,
    tag: str,
    seen: str,
    facts: tuple[tuple[str, float], ...],
    limit: str,
    try_: str,
    *,
    hard: bool,
) -> Notice:
    return Notice(
        code="channel-stuck",
        severity=Severity.STOP if hard else Severity.DOUBT,
        text=f"Run {evidence.run.id}, {tag}: {seen}.",
        facts=facts,
        limit=limit,
        try_=try_,
        run=evidence.run.id,
        about=f"channel {tag}",
    )
