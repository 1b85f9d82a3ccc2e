"""Every way in which an instrument errs. To add one: a function from a `Case` to its terms, and its line below."""

from collections.abc import Mapping
from types import MappingProxyType

from headrace.bench.instruments.case import Effect
from headrace.bench.instruments.effects import calibration, converter, film, influence, mechanism

EFFECTS: Mapping[str, Effect] = MappingProxyType(
    {
        "reference": calibration.reference,
        "gain": calibration.gain,
        "linearity": calibration.linearity,
        "drift": calibration.drift,
        "tare": calibration.tare,
        "class": calibration.constant,
        "hysteresis": mechanism.hysteresis,
        "repeatability": mechanism.repeatability,
        "temperature": influence.temperature,
        "line-pressure": influence.line_pressure,
        "logger": converter.logger,
        "steps": converter.steps,
        "parallax": film.parallax,
        "frames": film.frames,
    }
)
