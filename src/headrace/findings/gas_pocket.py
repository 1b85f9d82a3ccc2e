"""Gas between meter and injector: while the pressure falls it swells and pushes out water that the meter never saw."""

from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* where it may move E by more than runs differ anyway, else information."""
    out = []
    limit = evidence.campaign.defaults.run_to_run
    for name, stream in evidence.streams.items():
        gas = stream.gas
        if gas is None:
            continue
        side = (
            "more water went in than came out while the pressure rose"
            if gas.seen == "opening"
            else "more water came out than went in while the pressure fell after closing"
        )
        out.append(
            Notice(
                code="gas-pocket",
                severity=Severity.DOUBT if abs(gas.bias) > limit else Severity.INFO,
                text=(
                    f"Run {evidence.run.id}, circuit {name}: {side}, which leaves room for "
                    f"{1e3 * gas.volume:.2g} L of gas (at open air) between meter and injector. "
                    f"As it swells, E is found up to {100 * gas.bias:.2f} % too small in the window "
                    f"(at most {100 * gas.bias_most:.2f} % at one time). Nothing was corrected; the whole of it "
                    f"counts as a limit of doubt, and its middle would move E by {50 * gas.bias:+.2f} %."
                ),
                facts=(("volume", gas.volume), ("u", gas.u), ("bias", gas.bias), ("limit", limit)),
                limit=f"{100 * limit:g} %, run to run, owner's default",
                try_=(
                    "likely in this order: gas in a high point, a filter or a valve body (bleed it, run again "
                    "at once); the tap's gauge answers late (state its lag); a manifold that was empty. Gas that "
                    "cannot be bled: state trapped_gas of the line, and it is corrected for"
                ),
                run=evidence.run.id,
                about=f"circuit {name}",
            )
        )
    return tuple(out)
