"""Which channels of a run carry its effective area, and as what. Start at `carrying`."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters import METERS
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.records.given import Flow

Array = NDArray[np.float64]

PRESSURES = ("drop", "gauge", "abs")

MARKS = {"drop": "bar", "gauge": "bar(g)", "abs": "bar(a)"}
"""How a pressure of each kind is written."""

BAR = 1e5

WEIGHED = "weighed"
"""The method whose result is an integral over the whole flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """What a channel does in its run: the stream it serves, "tap", "back" or "meter", the line of a meter.

    part: it is one of two gauges whose difference is the drop; the difference stands beside it as a channel.
    """

    stream: str
    role: str
    line: str | None = None
    part: bool = False

    @property
    def place(self) -> str:
        """In words."""
        words = {"tap": "tap of", "back": "back-pressure of", "meter": f"meter of line {self.line},"}
        return f"{words[self.role]} circuit {self.stream}"


def stream_name(flow: Flow) -> str:
    """Name of a stream: its circuits joined by "+"."""
    return "+".join(flow.circuits)


def carrying(evidence: RunEvidence) -> Mapping[str, Role]:
    """Every tag that enters the effective area of this run, with its role. Thermometers do not count."""
    bench, metered = evidence.campaign.bench, evidence.run.method != WEIGHED
    out: dict[str, Role] = {}
    for flow in evidence.run.flows:
        stream = stream_name(flow)
        out[flow.p_tap] = Role(stream=stream, role="tap")
        if flow.p_back is not None:
            out[flow.p_back] = Role(stream=stream, role="back")
        for line in flow.lines if metered else ():
            name = bench.lines[line].meter
            if name is not None:
                meter = bench.meters[name]
                tag = meter.instruments[METERS[meter.kind].role]
                out[tag] = Role(stream=stream, role="meter", line=line)
                for part in bench.instruments[tag].parts or ():
                    out[part] = Role(stream=stream, role="meter", line=line, part=True)
    return out


def drop_lines(evidence: RunEvidence, stream: StreamEvidence) -> tuple[str, ...]:
    """The lines of a stream whose meters are read by a drop."""
    bench = evidence.campaign.bench
    kinds = {line: bench.meters[str(bench.lines[line].meter)].kind for line in stream.dp_by_line}
    return tuple(line for line, kind in kinds.items() if METERS[kind].role == "dp")


def meter_tag(evidence: RunEvidence, line: str) -> str:
    """Tag of the instrument that reads a line's meter."""
    bench = evidence.campaign.bench
    meter = bench.meters[str(bench.lines[line].meter)]
    return meter.instruments[METERS[meter.kind].role]


def share(flags: NDArray[np.bool_]) -> float:
    """Share of true among flags; 0 of none."""
    return float(np.mean(flags)) if flags.size else 0.0
