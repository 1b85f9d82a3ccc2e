"""Provenance: every file that this rests on with its hash, the owner's limits and defaults, version and seal."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import Cell, table
from headrace.units import format_value


def build(content: ReportContent) -> Mapping[str, Any]:
    """Files, limits, seal."""
    campaign = content.campaign
    owned: list[tuple[Cell, ...]] = [
        (one.name.replace("_", " "), _with_unit(one.name, getattr(record, one.name)), words)
        for words, record in (("limit", campaign.limits), ("default", campaign.defaults))
        for one in fields(record)
    ]
    return {
        "files": table("Input files", ("file", "sha256"), list(campaign.inputs.items())),
        "owned": table("Limits and defaults in force, owned by campaign.toml; relative, k = 1, where no unit stands",
                       ("what", "value", "kind"), owned),
        "version": content.version,
        "seal": content.seal,
        "count": len(campaign.inputs),
    }  # fmt: skip


UNITS = {"vapour_margin": ("pressure", "drop"), "window": ("time", None)}
"""Dimension and kind of pressure of those that are not relative."""


def _with_unit(name: str, value: object) -> str:
    if name in UNITS and isinstance(value, float):
        dimension, kind = UNITS[name]
        return format_value(value, dimension=dimension, kind=kind, digits=3)
    return _told(value)


def _told(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(_told(one) for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
