"""How fast one channel answers is stated and how fast its partner does is not: while the drop falls, that biases E."""

import numpy as np

from headrace.bench.timing import delay, known
from headrace.findings.channels import carrying, stream_name
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

TOLD = 0.1
"""Share of the limit below which it is not worth a word."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* when the bias may exceed what runs differ by anyway, else information."""
    return tuple(
        notice
        for stream in evidence.streams.values()
        if stream.dp_by_line
        for notice in _judge(evidence, stream)
    )


def _judge(evidence: RunEvidence, stream: StreamEvidence) -> tuple[Notice, ...]:
    instruments = evidence.campaign.bench.instruments
    tags = [
        tag
        for tag, role in carrying(evidence).items()
        if role.stream == stream_name(stream.flow) and instruments[tag].parts is None
    ]
    told = [tag for tag in tags if known(instruments[tag])]
    silent = [tag for tag in tags if not known(instruments[tag])]
    good = stream.within & np.isfinite(stream.dp) & (stream.dp > 0)
    if not told or not silent or np.count_nonzero(good) < 8:
        return ()
    lag = max(delay(instruments[tag]) for tag in told)
    fall = float(np.polyfit(stream.time[good], np.log(stream.dp[good]), 1)[0])
    bias, limit = 0.5 * lag * abs(fall), evidence.campaign.defaults.run_to_run
    if bias <= TOLD * limit:
        return ()
    names = " and ".join(silent)
    return (
        Notice(
            code="lag-unknown",
            severity=Severity.DOUBT if bias > limit else Severity.INFO,
            text=(
                f"Run {evidence.run.id}, circuit {stream_name(stream.flow)}: how fast {names} answers is not stated, "
                f"and {' and '.join(told)} is corrected for {1e3 * lag:.0f} ms. The drop changes by "
                f"{100 * fall:+.1f} % per second; if both are equally slow, E is off by {100 * bias:.2f} %."
            ),
            facts=(("lag", lag), ("rate", fall), ("bias", bias), ("limit", limit)),
            limit=f"{100 * limit:g} %, run to run, owner's default",
            try_=f"state `lag` (or `filter`) of {names} in bench.toml with its ±; equal lags cancel in E",
            run=evidence.run.id,
            about=f"circuit {stream_name(stream.flow)}",
        ),
    )
