"""The flow meters headrace knows. To add one: write its module, add its line to METERS."""

from collections.abc import Mapping
from types import MappingProxyType

from headrace.bench.meters import direct, orifice, turbine, venturi
from headrace.bench.meters.base import MeterKind

METERS: Mapping[str, MeterKind] = MappingProxyType(
    {
        "venturi-machined": venturi.MACHINED,  # ISO 5167-4:2003, 5.5.3
        "venturi-as-cast": venturi.AS_CAST,  # ISO 5167-4:2003, 5.5.2
        "venturi-rough-welded": venturi.ROUGH_WELDED,  # ISO 5167-4:2003, 5.5.4
        "venturi-calibrated": venturi.CALIBRATED,  # its own coefficient
        "orifice-corner": orifice.CORNER,  # ISO 5167-2:2003
        "orifice-flange": orifice.FLANGE,  # ISO 5167-2:2003
        "orifice-d-d2": orifice.D_D2,  # ISO 5167-2:2003
        "mass-flow": direct.MASS,  # by its certificate
        "volume-flow": direct.VOLUME,  # by its certificate
        "turbine": turbine.TURBINE,  # by its certificate
    }
)
