"""What should agree: line against line, run against run, circuits together against each alone. Start at `contrasts`."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from headrace.chain.contrasts import ContrastModel
from headrace.chain.water import Fit, WaterChain
from headrace.jobs.reduce.characteristic import Fitted
from headrace.jobs.reduce.context import WATER, Prepared
from headrace.jobs.reduce.models import CLEAR
from headrace.records.readings import Contrast
from headrace.uncertainty.gum import gum
from headrace.uncertainty.source import Source

PEER = 0.1
"""Lines that carry at least this share of a characteristic are peers, whose difference is a doubt of the mean; one
that carries less hardly enters the mean: it is a witness, and its disagreement is only told."""


def contrasts(
    fits: list[Fitted], sources: dict[str, Source], prepared: list[Prepared], default: Mapping[str, Source]
) -> tuple[WaterChain, tuple[Contrast, ...]]:
    """The frozen chain, and what should agree; a line-to-line difference beyond its doubt becomes a source.

    Args:
        fits: every characteristic.
        sources: all, by name; one between lines is added here.
        prepared: every stream.
        default: sources whose set-up terms are the default's. Run is held against run by these: by their own scatter
            runs that contradict each other would excuse themselves.
    """
    streams = {one.name: one.frozen for one in prepared}
    table = {one.key: one.fit for one in fits}
    pairs: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {}
    labels: dict[str, tuple[str, str, str, str]] = {}
    for one in fits:
        lines = list(one.by_line)
        for line, part in one.by_line.items():
            table[f"{one.key} @ {'+'.join(line)}"] = part
        for k, a in enumerate(lines):
            for b in lines[k + 1 :]:
                name_a, name_b = "+".join(a), "+".join(b)
                label = f"{one.key}: {name_a}/{name_b}"
                pairs[label] = ((f"{one.key} @ {name_a}",), (f"{one.key} @ {name_b}",))
                peers = min(one.line_share[a], one.line_share[b]) >= PEER
                labels[label] = ("lines" if peers else "witness", one.key, name_a, name_b)
        for run, (alone, others) in one.by_run.items():
            label, rest = f"{one.key} @ run {run}", f"{one.key} @ run {run}, others"
            table[label], table[rest] = alone, others
            pairs[label] = ((label,), (rest,))
            labels[label] = ("runs", one.key, run, "+".join(_runs_of(others)))
    neighbours(table, pairs, labels)
    whole = WaterChain(streams=streams, fits=table)
    between_runs = {label for label, (kind, *_) in labels.items() if kind == "runs"}
    known = _known(
        whole, {label: pair for label, pair in pairs.items() if label not in between_runs}, sources
    )
    known |= _known(whole, {label: pairs[label] for label in between_runs}, {**sources, **default})
    found = tuple(
        Contrast(kind=kind, stream=stream, a=a, b=b, ln_ratio=known[label][0], u=known[label][1])
        for label, (kind, stream, a, b) in labels.items()
    )
    carried = {one.key: one.fit for one in fits}
    for contrast in found:
        if contrast.kind == "lines" and abs(contrast.ln_ratio) > CLEAR * contrast.u:
            name = f"{contrast.stream}.between_lines"
            u = abs(contrast.ln_ratio) / 2 / np.sqrt(3)
            before = sources.get(name)
            if before is None or before.u < u:
                sources[name] = Source(
                    name=name,
                    u=float(u),
                    dist="rectangular",
                    scope="model",
                    group=WATER,
                    origin=f"lines {contrast.a} and {contrast.b} differ beyond their doubt",
                )
            old = carried[contrast.stream]
            if name not in old.extra:
                carried[contrast.stream] = replace(old, extra=(*old.extra, name))
    used = dict.fromkeys(member for one in carried.values() for member in one.members)
    return WaterChain(streams={name: streams[name] for name in used}, fits=carried), found


def _known(
    whole: WaterChain,
    pairs: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]],
    sources: Mapping[str, Source],
) -> dict[str, tuple[float, float]]:
    """ln of the ratio of each pair with its standard uncertainty, by label."""
    if not pairs:
        return {}
    result = gum(ContrastModel(water=whole, contrasts=pairs), tuple(sources.values()))
    return {label: (result.nominal[label], result.u[label]) for label in pairs}


def _runs_of(fit: Fit) -> tuple[str, ...]:
    return tuple(member.partition(":")[0] for member in fit.members)


def neighbours(
    table: Mapping[str, object],
    pairs: dict[str, tuple[tuple[str, ...], tuple[str, ...]]],
    labels: dict[str, tuple[str, str, str, str]],
) -> None:
    """Contrasts of circuits alone with the same together, and of joint streams with the sum of their parts."""
    for key in list(table):
        if " @ " in key:
            continue
        stream = key.removesuffix(" (together)")
        parts = tuple(stream.split("+"))
        if len(parts) > 1 and all(part in table for part in parts):
            label = f"{stream}: both/sum"
            pairs[label] = ((key,), parts)
            labels[label] = ("sum", stream, key, " + ".join(parts))
        elif key != stream and stream in table:
            label = f"{stream}: together/alone"
            pairs[label] = ((key,), (stream,))
            labels[label] = ("neighbour", stream, key, stream)
    together = tuple(
        key for key in table if key.endswith(" (together)") and " @ " not in key and "+" not in key
    )
    alone = tuple(key.removesuffix(" (together)") for key in together)
    if len(together) > 1 and all(key in table for key in alone):
        label = "together: sum/sum"
        pairs[label] = (together, alone)
        labels[label] = ("sum", "+".join(alone), " + ".join(together), " + ".join(alone))
