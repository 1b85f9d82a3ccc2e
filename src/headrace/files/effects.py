"""The optional keys of an instrument and of a logger to their records."""

from headrace.files.schema.bench import BenchTable
from headrace.files.schema.instruments import InstrumentTable, raw_range
from headrace.records.effects import NO_EFFECTS, Effects, Logger


def effects_of(table: InstrumentTable) -> Effects:
    """What the data sheet states beside the accuracy."""
    known = {
        "linearity": table.linearity, "hysteresis": table.hysteresis, "repeatability": table.repeatability,
        "zero_per_kelvin": table.zero_with_temperature, "span_per_kelvin": table.span_with_temperature,
        "reference_temp": table.reference_temperature, "temp_span": table.temperature_range,
        "zero_per_pascal": getattr(table, "zero_with_line_pressure", None),
        "span_per_pascal": getattr(table, "span_with_line_pressure", None),
        "logger": table.logger, "raw_width": _raw_width(table),
    }  # fmt: skip
    given = {name: value for name, value in known.items() if value is not None}
    return Effects(**given) if given else NO_EFFECTS


def _raw_width(table: InstrumentTable) -> float | None:
    """What the logger's whole range stands for, in what is measured."""
    if table.logger_range is None or table.signal is None:
        return None
    low, high, _ = raw_range(table)
    return float((high - low) / abs(table.signal[1] - table.signal[0]) * (table.range[1] - table.range[0]))


def loggers(table: BenchTable) -> dict[str, Logger]:
    """The loggers by id; the parts of their accuracy as gain and offset."""
    out = {}
    for one in table.logger:
        said = one.accuracy
        out[one.id] = Logger(
            id=one.id, bits=one.bits,
            gain=said.of_reading if said else 0.0, offset=said.of_span if said else 0.0,
            dist=said.dist if said else "rectangular",
            origin=f"accuracy of logger {one.id}: {said.text}" if said else f"bench.toml, logger {one.id}",
        )  # fmt: skip
    return out
