"""Doubts found in a run or in a campaign: one file per finding, one line here.

A finding takes evidence and returns notices; it never changes a number. To add one: a module with `find`, and its
line below.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.findings import (
    air_unbalanced,
    article_cavitates,
    both_below_sum,
    cd_too_high,
    certificate_exceeded,
    certificate_expired,
    channel_clipped,
    channel_stuck,
    clock_jump,
    closure,
    crossover,
    drift_beyond_stated,
    drop_by_two_gauges,
    drop_negative,
    gas_breakthrough,
    gas_pocket,
    gauge_taken_for_absolute,
    hand_against_log,
    impulse_leg_air,
    lag_unknown,
    level_against_meter,
    level_moved,
    line_against_line,
    loop_fault,
    mains_hum,
    meter_slow,
    meter_throat_cavitates,
    neighbour_effect,
    neighbour_leak,
    one_run_carries_all,
    pressure_fell,
    pressure_rose,
    run_against_run,
    run_unbracketed,
    run_unmatched,
    soak_long,
    tare_drift,
    tare_in_flow,
    time_back,
    trend_cause,
    values_missing,
    values_set_aside,
    vessel_over_rating,
    window_short,
    zero_beyond,
    zero_under_pressure,
)
from headrace.findings.evidence import CampaignEvidence, DayEvidence, RunEvidence
from headrace.notices import Notice

RUN_FINDINGS: Mapping[str, Callable[[RunEvidence], tuple[Notice, ...]]] = MappingProxyType(
    {
        "gauge-taken-for-absolute": gauge_taken_for_absolute.find,
        "drop-negative": drop_negative.find,
        "channel-stuck": channel_stuck.find,
        "channel-clipped": channel_clipped.find,
        "loop-fault": loop_fault.find,
        "values-missing": values_missing.find,
        "values-set-aside": values_set_aside.find,
        "mains-hum": mains_hum.find,
        "clock-jump": clock_jump.find,
        "tare-drift": tare_drift.find,
        "tare-in-flow": tare_in_flow.find,
        "zero-under-pressure": zero_under_pressure.find,
        "drop-by-two-gauges": drop_by_two_gauges.find,
        "impulse-leg-air": impulse_leg_air.find,
        "lag-unknown": lag_unknown.find,
        "window-short": window_short.find,
        "gas-breakthrough": gas_breakthrough.find,
        "gas-pocket": gas_pocket.find,
        "neighbour-leak": neighbour_leak.find,
        "meter-throat-cavitates": meter_throat_cavitates.find,
        "closure": closure.find,
        "cd-too-high": cd_too_high.find,
        "certificate-exceeded": certificate_exceeded.find,
        "meter-slow": meter_slow.find,
        "hand-against-log": hand_against_log.find,
    }
)

CAMPAIGN_FINDINGS: Mapping[str, Callable[[CampaignEvidence], tuple[Notice, ...]]] = MappingProxyType(
    {
        "line-against-line": line_against_line.find,
        "run-against-run": run_against_run.find,
        "both-below-sum": both_below_sum.find,
        "article-cavitates": article_cavitates.find,
        "one-run-carries-all": one_run_carries_all.find,
        "certificate-expired": certificate_expired.find,
        "drift-beyond-stated": drift_beyond_stated.find,
        "trend-cause": trend_cause.find,
        "crossover": crossover.find,
        "neighbour-effect": neighbour_effect.find,
    }
)

DAY_FINDINGS: Mapping[str, Callable[[DayEvidence], tuple[Notice, ...]]] = MappingProxyType(
    {
        "time-back": time_back.find,
        "vessel-over-rating": vessel_over_rating.find,
        "level-moved": level_moved.find,
        "pressure-fell": pressure_fell.find,
        "pressure-rose": pressure_rose.find,
        "air-unbalanced": air_unbalanced.find,
        "run-unmatched": run_unmatched.find,
        "run-unbracketed": run_unbracketed.find,
        "level-against-meter": level_against_meter.find,
        "zero-beyond": zero_beyond.find,
        "soak-long": soak_long.find,
    }
)
