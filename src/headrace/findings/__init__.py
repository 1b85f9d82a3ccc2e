"""Doubts found in a run or in a campaign: one file per finding, one line here.

A finding takes evidence and returns notices; it never changes a number.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.findings.evidence import CampaignEvidence, RunEvidence
from headrace.notices import Notice

RUN_FINDINGS: Mapping[str, Callable[[RunEvidence], tuple[Notice, ...]]] = MappingProxyType({})
CAMPAIGN_FINDINGS: Mapping[str, Callable[[CampaignEvidence], tuple[Notice, ...]]] = MappingProxyType({})
