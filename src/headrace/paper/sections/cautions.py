"""Back: the usual cautions. Common practice; local codes and licensed practice govern."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import call

CAUTIONS = (
    (
        "Who governs.",
        "Local codes, the site's own procedures and licensed practice; they win over this sheet. "
        "It opens no valve and certifies nothing.",
    ),
    (
        "Stored gas.",
        "The gas above a liquid holds far more energy than the liquid. Nobody stays near a vessel that is being "
        "pressurised; vent it before any work.",
    ),
    (
        "Jets.",
        "A leak at these pressures cuts through glove and skin. Never feel for one by hand; vent first, look after.",
    ),
    (
        "Oxidiser.",
        "All it touches is clean of oil and grease and of a material meant for it. Cold liquid shut in between two "
        "valves bursts them: each such volume has its own relief. Soaked cloth burns long after the spill.",
    ),
    (
        "Before use.",
        "Same injector, trim and feed as on these pages; relief devices in place; tank gauges at zero "
        "when open to the air; barometer read that day.",
    ),
)


def typst(_: SheetContent) -> str:
    """The same on every sheet."""
    return call("head", "Cautions") + call("cautions", [list(caution) for caution in CAUTIONS])
