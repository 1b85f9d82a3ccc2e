"""Doubts found in a run or in a campaign: one file per finding, one line here.

A finding takes evidence and returns notices; it never changes a number. To add one: a module with `find`, and its
line below.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.findings import (
    article_cavitates,
    both_below_sum,
    cd_too_high,
    channel_stuck,
    clock_jump,
    closure,
    drop_negative,
    gas_breakthrough,
    gauge_taken_for_absolute,
    impulse_leg_air,
    line_against_line,
    loop_fault,
    meter_throat_cavitates,
    neighbour_leak,
    one_run_carries_all,
    run_against_run,
    tare_drift,
    tare_in_flow,
    values_missing,
    window_short,
)
from headrace.findings.evidence import CampaignEvidence, RunEvidence
from headrace.notices import Notice

RUN_FINDINGS: Mapping[str, Callable[[RunEvidence], tuple[Notice, ...]]] = MappingProxyType(
    {
        "gauge-taken-for-absolute": gauge_taken_for_absolute.find,
        "drop-negative": drop_negative.find,
        "channel-stuck": channel_stuck.find,
        "loop-fault": loop_fault.find,
        "values-missing": values_missing.find,
        "clock-jump": clock_jump.find,
        "tare-drift": tare_drift.find,
        "tare-in-flow": tare_in_flow.find,
        "impulse-leg-air": impulse_leg_air.find,
        "window-short": window_short.find,
        "gas-breakthrough": gas_breakthrough.find,
        "neighbour-leak": neighbour_leak.find,
        "meter-throat-cavitates": meter_throat_cavitates.find,
        "closure": closure.find,
        "cd-too-high": cd_too_high.find,
    }
)

CAMPAIGN_FINDINGS: Mapping[str, Callable[[CampaignEvidence], tuple[Notice, ...]]] = MappingProxyType(
    {
        "line-against-line": line_against_line.find,
        "run-against-run": run_against_run.find,
        "both-below-sum": both_below_sum.find,
        "article-cavitates": article_cavitates.find,
        "one-run-carries-all": one_run_carries_all.find,
    }
)
