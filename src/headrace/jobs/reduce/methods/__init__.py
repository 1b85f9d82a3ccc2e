"""Ways of running water. To add one: write its module, add its line to METHODS."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import bucket, by_hand, metered, pair, weighed
from headrace.records.given import Flow

Method = Callable[[Context, Flow], Prepared]

METHODS: Mapping[str, Method] = MappingProxyType(
    {
        "metered": metered.prepare,  # flow meter and pressure, logged
        "weighed": weighed.prepare,  # one mass (or level) against a logged pressure
        "by-hand": by_hand.prepare,  # gauge at start and end, level or scale, stopwatch
        "long-minus-short": pair.prepare,  # two runs by hand, what start and stop add taken out
        "bucket": bucket.prepare,  # a table of catch-and-weigh points
    }
)
