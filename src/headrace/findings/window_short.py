"""A window too short to tell, one that leaves out much of the flow, or one in which the flow was not quasi-steady.

Quasi-steady means: the water column's inertia is small against the drop, and E does not run away. A trend in E is a
diagnosis: what the instruments may do to it by themselves is computed and does not count.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import PLAIN, Conditions, Zero, at_work
from headrace.findings import gas_breakthrough
from headrace.findings.channels import drop_lines, meter_tag
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity
from headrace.stats.slope import slope_test
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

INERTIA = 0.002
"""Share of the drop that the inertia of the water column may take. Common practice."""

TREND = 0.003
"""Change of ln E over the window that counts. Common practice."""

CLEAR = 2.0
"""Standard uncertainties of that change which it must exceed."""

MOST_OF_FLOW = 2 / 3
"""Share of the time of flow that a window holds unless gas came through. Common practice."""

PIECES = 5
"""Parts of the window in each of which the flow is taken for a straight line of time."""

BLOCKS = 16
"""Block means of ln E that the trend is drawn through: neighbours must not remember each other."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each of: length, flow left out, inertia, trend."""
    out: list[Notice] = []
    for name, stream in evidence.streams.items():
        for judge in (_length, _left_out, _inertia, _trend):
            out.extend(judge(evidence, name, stream))
    return tuple(out)


def _length(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    length, least = stream.window.end - stream.window.start, evidence.campaign.limits.window
    if length >= least:
        return ()
    return (
        _notice(
            evidence,
            name,
            f"the window from {stream.window.start:.2f} s to {stream.window.end:.2f} s is "
            f"{max(length, 0.0):.2f} s long",
            (("duration", length),),
            f"at least {least:g} s, owner's limit",
            "run longer, open faster, or see why E leaves its line so early: air in the manifold, settling "
            "regulator, gas",
        ),
    )


def _left_out(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    """Much of the flow is not in the window that was found, and gas that came through is not the reason."""
    window = stream.window
    flow, length = stream.on[1] - stream.on[0], max(window.end - window.start, 0.0)
    if window.chosen != "found" or length == 0 or length >= MOST_OF_FLOW * flow:
        return ()
    if any(one.about == f"circuit {name}" for one in gas_breakthrough.find(evidence)):
        return ()
    before, after = window.start - stream.on[0], stream.on[1] - window.end
    side = "before" if before > after else "behind"
    return (
        _notice(
            evidence,
            name,
            f"{flow - length:.2f} s of {flow:.2f} s of flow are left out, {before:.2f} s before the window and "
            f"{after:.2f} s behind it, because E leaves its line there, and no gas is seen to come through",
            (("share", length / flow), ("duration", length)),
            "two thirds of the flow in the window, common practice",
            f"look at E {side} the window: values that are missing or wrong, cavitation, air in the manifold, a "
            "valve that moved; or type a window with its reason",
        ),
    )


def _inertia(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    lines = [evidence.campaign.bench.lines[line] for line in stream.m_dot_by_line]
    inertance = sum(line.inertance for line in lines) / max(len(lines), 1)
    index = np.flatnonzero(stream.within & np.isfinite(stream.m_dot) & np.isfinite(stream.dp))
    if inertance == 0 or index.size < 4 * PIECES:
        return ()
    worst = 0.0
    for piece in np.array_split(index, PIECES):
        rate = float(np.polyfit(stream.time[piece] - stream.time[piece[0]], stream.m_dot[piece], 1)[0])
        shared = inertance * rate / float(np.mean(stream.dp[piece]))
        worst = shared if abs(shared) > abs(worst) else worst
    if abs(worst) <= INERTIA:
        return ()
    return (
        _notice(
            evidence,
            name,
            f"the inertia of the water column takes up to {100 * worst:+.2f} % of the drop in the window; "
            f"it was corrected, but rests on the stated inertance of {inertance:g} 1/m",
            (("inertia_share", worst),),
            f"{100 * INERTIA:g} % of the drop, common practice",
            "a later window, a larger gas volume (slower blowdown), or a steadier regulator",
        ),
    )


def _trend(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    good = stream.within & np.isfinite(stream.area_eff) & (stream.area_eff > 0)
    index = np.flatnonzero(good)
    if index.size < 2 * BLOCKS:
        return ()
    parts = np.array_split(index, BLOCKS)
    at = np.array([float(np.mean(stream.time[part])) for part in parts])
    ln_area = np.array([float(np.mean(np.log(stream.area_eff[part]))) for part in parts])
    length = float(stream.time[index[-1]] - stream.time[index[0]])
    test = slope_test(x=at, y=ln_area)
    change, own = test.slope * length, test.u * length
    u = float(np.hypot(own, _of_instruments(evidence, stream, index)))
    if abs(change) <= max(TREND, CLEAR * u):
        return ()
    return (
        _notice(
            evidence,
            name,
            f"ln E changes by {100 * change:+.2f} % over the window, where ±{100 * CLEAR * u:.2f} % is what "
            "scatter, zeros and linearity explain",
            (("trend", change), ("u", u)),
            f"{100 * TREND:g} % and {CLEAR:g} standard uncertainties, common practice",
            "likely in this order: "
            + ("drop reads low, or " if change > 0 else "drop reads high, or ")
            + "the zero of one channel is off (E against 1/dp is then straight); E truly depends on Reynolds number "
            "(repeat with warm water); air, gas or a vortex late in the run; cavitation at the high end",
        ),
    )


def _of_instruments(evidence: RunEvidence, stream: StreamEvidence, index: NDArray[np.intp]) -> float:
    """Standard uncertainty of the change of ln E over the window by what the channels promise; shared parts cancel."""
    fifth = max(index.size // 5, 1)
    first, last = index[:fifth], index[-fifth:]
    channels = [(stream.flow.p_tap, stream.p_tap, -0.5)]
    drops = drop_lines(evidence, stream)
    for line, signal in stream.dp_by_line.items():
        weight = float(np.nanmean(stream.m_dot_by_line[line][index] / stream.m_dot[index]))
        channels.append((meter_tag(evidence, line), signal, weight * (0.5 if line in drops else 1.0)))
    parts: dict[str, float] = {}
    sizes: dict[str, float] = {}
    for tag, values, power in channels:
        ends = np.array([float(np.nanmean(values[first])), float(np.nanmean(values[last]))])
        if not np.all(ends > 0):
            continue
        for doubted, sources, sign in _at_ends(evidence, stream, tag, ends, (first, last)):
            sizes.update({source.name: source.u for source in sources})
            for source, shape in doubted.terms:
                step = shape[1] / ends[1] - shape[0] / ends[0]
                parts[source] = parts.get(source, 0.0) + sign * power * float(step)
    whole = index.size / (
        index.size - fifth
    )  # the ends' middles lie a fifth of the window closer than its ends
    return whole * float(np.sqrt(sum((part * sizes[source]) ** 2 for source, part in parts.items())))


def _at_ends(
    evidence: RunEvidence,
    stream: StreamEvidence,
    tag: str,
    ends: Array,
    where: tuple[NDArray[np.intp], NDArray[np.intp]],
) -> Iterator[tuple[Doubted, tuple[Source, ...], float]]:
    """A channel's errors at both ends of the window; of a drop by two gauges those of each, less those at its zero."""
    campaign, zero = evidence.campaign, evidence.zeros.get(tag)

    def held(
        one: str, values: Array, at: Zero | None, worked: Conditions | None = None
    ) -> tuple[Doubted, tuple[Source, ...]]:
        return at_work(
            campaign.bench.instruments[one],
            values,
            run=evidence.run.id,
            zero=at,
            certificates=campaign.certificates,
            references=campaign.references,
            on=evidence.run.date,
            conditions=worked or stream.at_ends.get(one, PLAIN),
        )

    pair = campaign.bench.instruments[tag].parts
    if pair is None:
        yield *held(tag, ends, zero), 1.0
        return
    common = None if zero is None else Zero(before=0.0, after=0.0, u=0.0)
    for part, sign in zip(pair, (1.0, -1.0), strict=True):
        shown = evidence.signals[part]
        yield *held(part, np.array([float(np.nanmean(shown[index])) for index in where]), common), sign
        if part in evidence.zeros and common is not None:
            rest = replace(stream.at_ends.get(part, PLAIN), travel=np.full(2, -1.0), p_line=None)
            yield *held(part, np.full(2, evidence.zeros[part].before), common, rest), -sign


def _notice(
    evidence: RunEvidence, name: str, seen: str, facts: tuple[tuple[str, float], ...], limit: str, try_: str
) -> Notice:
    return Notice(
        code="window-short",
        severity=Severity.DOUBT,
        text=f"Run {evidence.run.id}, circuit {name}: {seen}.",
        facts=facts,
        limit=limit,
        try_=try_,
        run=evidence.run.id,
        about=f"circuit {name}",
    )
