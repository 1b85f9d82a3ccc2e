"""Instruments at work. `at_work` gives values their error terms; `effects` holds every way in which they err."""

from headrace.bench.certificates import corrected
from headrace.bench.instruments.at_work import at_work, reading_by_eye
from headrace.bench.instruments.conditions import PLAIN, Conditions, travel
from headrace.bench.instruments.effects.calibration import MID_RANGE
from headrace.bench.instruments.zero import Zero

__all__ = ["MID_RANGE", "PLAIN", "Conditions", "Zero", "at_work", "corrected", "reading_by_eye", "travel"]
