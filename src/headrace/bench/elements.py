"""Element kinds, and the doubt that is usual when their water results are carried to propellants.

The step doubts are common practice, standard uncertainties (k = 1), one source per circuit; the owner sees them on the
sheet and replaces them by E_hot/E_water of their own firings. To add a kind: one line here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """step: standard uncertainty of ln(E_hot/E_water) by cavitation regime in water: "clear", "doubtful", "cavitating".

    stop: regimes in which the owner must state the step themselves. gas_cored: the outlet runs with a gas core, so K
    over the whole drop does not judge it. plain: the geometric area is that of drilled holes, so Cd has a ceiling.
    part: no element of an injector but a part of a feed.
    """

    title: str
    step: Mapping[str, float]
    stop: tuple[str, ...] = ()
    gas_cored: bool = False
    plain: bool = False
    part: bool = False


def _steps(clear: float, doubtful: float, cavitating: float) -> Mapping[str, float]:
    return MappingProxyType({"clear": clear, "doubtful": doubtful, "cavitating": cavitating})


ELEMENTS: Mapping[str, Element] = MappingProxyType(
    {
        "plain-rounded": Element(
            title="plain hole, rounded entry", step=_steps(0.015, 0.03, 0.08), plain=True
        ),
        "plain-sharp": Element(
            title="plain hole, sharp entry", step=_steps(0.02, 0.05, 0.15), stop=("cavitating",), plain=True
        ),
        "pressure-swirl": Element(title="pressure swirl", step=_steps(0.03, 0.05, 0.05), gas_cored=True),
        "coaxial-recessed": Element(
            title="coaxial, recessed", step=_steps(0.05, 0.08, 0.08), stop=("cavitating",)
        ),
        "jacket-and-holes": Element(title="cooling jacket and holes", step=_steps(0.10, 0.10, 0.10)),
        "line": Element(title="feed line", step=_steps(0.0, 0.0, 0.0), part=True),
        "valve": Element(title="valve", step=_steps(0.0, 0.0, 0.0), part=True),
    }
)


def regime(*, cav: float, doubtful_below: float, cavitating_below: float, element: Element) -> str:
    """Cavitation regime in water by K = (p1 - pv)/(p1 - p2) at the least-clear reading that is used.

    Source: common practice (plain holes: clear above about 2, cavitating below about 1.5).
    """
    if element.gas_cored or cav > doubtful_below:
        return "clear"
    return "doubtful" if cav > cavitating_below else "cavitating"
