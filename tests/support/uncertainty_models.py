"""Small models that pickle, for tests that hand blocks to other processes."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

SCOPE = {"scope": "run", "origin": "invented for a test"}


def source(name: str, u: float, **more: Any) -> Source:
    return Source(name=name, u=u, **{**SCOPE, **more})


def area_and_flow(errors: Errors) -> Mapping[str, Any]:
    """Invented: a flow and an effective area from three gauges."""
    m_dot = 1.37 * (1 + errors["meter"])
    dp = 8.1e5 + errors["drop zero"]
    rho = 998.2 + errors["rho"]
    return {"m_dot": m_dot, "area_eff": m_dot / np.sqrt(2 * rho * dp), "fixed": 3.5}


AREA_SOURCES = (
    source("meter", 0.006, dist="rectangular", scope="shared", group="stand"),
    source("drop zero", 2.3e4, dist="t", dof=7),
    source("rho", 0.4, dist="triangular", scope="model"),
)
