"""Turbine meters by their pulses: volume flow is frequency over pulses per volume, by certificate points or one number.

Points over frequency hold in the liquid of the calibration; over the pipe's Reynolds number they hold in others, too. A
rotor that runs above its certified range was driven by gas, or is at the end of its bearing: it is told.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import SOMEWHERE, Built, Field, Working
from headrace.bench.meters.direct import LINEAR, REPEATS, relative
from headrace.bench.meters.factor import ROUNDS, Factor, beyond, stated_factor
from headrace.physics.hydraulics.limits import Breach
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]

THICKER = 1.2
"""Ratio of kinematic viscosities, water's over that of the calibration, from which a curve over frequency is doubted.
Common practice: the end of a turbine's linear range shifts with viscosity, its middle hardly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurbineLaw:
    """Flow is frequency over K [1/m3], a curve over frequency, volume flow or the Reynolds number of d_pipe [m]."""

    k: Factor
    d_pipe: float | None

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:
        """Mass flow [kg/s], shape (slices, draws)."""
        if self.k.over in ("", "frequency"):
            return np.asarray(signal * rho / self.k.of(errors, signal))
        flow = signal / self.k.middle
        for _ in range(ROUNDS):
            flow = signal / self.k.of(errors, self._at(flow, rho, mu))
        return np.asarray(flow * rho)

    def _at(self, flow: Array, rho: Array, mu: float) -> Array:
        if self.k.over == "volume_flow" or self.d_pipe is None:
            return flow
        return 4 * np.abs(flow) * rho / (np.pi * self.d_pipe * mu)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turbine:
    """A turbine whose pulses are logged as a frequency."""

    title: str = "turbine, by its pulses"
    fields: tuple[Field, ...] = (
        Field(name="k", dimension="per_volume", required=True, help="pulses per volume, with its doubt; "
              "a certificate's points replace it"),
        LINEAR,
        REPEATS,
        Field(name="d_pipe", dimension="length", required=False, help="its bore, for points over Reynolds number"),
        Field(name="nu", dimension="kinematic_viscosity", required=False, help="viscosity of the liquid it was "
              "calibrated in"),
    )  # fmt: skip
    role: str = "signal"
    measures: tuple[str, ...] = ("frequency",)
    over: tuple[str, ...] = ("frequency", "volume_flow", "re")
    factor: str = "per_volume"

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],  # noqa: ARG002 - every kind takes it
        at: Working = SOMEWHERE,
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        factor, sources = stated_factor(
            "k", given, certificates=certificates, references=references, more=relative(given, at)
        )
        bore = given.values.get("d_pipe")
        flows = None if at.signal is None else (at.signal[0] / factor.middle, at.signal[1] / factor.middle)
        spans = {"frequency": at.signal, "volume_flow": flows, "re": at.re}
        return Built(
            law=TurbineLaw(k=factor, d_pipe=None if bore is None else bore.value),
            sources=sources,
            beyond=(*beyond(factor, given, spans), *_thicker(factor, given, at)),
        )


def _thicker(factor: Factor, given: MeterGiven, at: Working) -> tuple[Breach, ...]:
    """Another viscosity than that of the calibration, where the curve does not know of it."""
    stated = given.values.get("nu")
    if stated is None or at.nu is None or factor.over == "re":
        return ()
    low, high = stated.value / THICKER, stated.value * THICKER
    if low <= at.nu <= high:
        return ()
    return (Breach(quantity="nu", found=at.nu, low=low, high=high, source="viscosity of its calibration"),)


TURBINE = Turbine()
