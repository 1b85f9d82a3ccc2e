"""A feed made up of parts that were run with water: in series, each one part or several side by side.

Losses add only where they meet: the tap behind one part is the tap before the next, on one basis; side by side, parts
have both taps in common. Otherwise the feed is refused with one message. Start at `composed`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

from headrace.chain.water import Reduced
from headrace.errors import Infeasible, InputError, Problem
from headrace.records.given import Campaign, Side
from headrace.records.readings import Characteristic, characteristic_key


@dataclass(frozen=True, slots=True, kw_only=True)
class Composed:
    """keys: of the characteristics, in series and side by side. area: together, at nominal [m2]. found: by key.

    re_bore: pipe Reynolds number times bore [m] at which the first part was run.
    """

    keys: tuple[tuple[str, ...], ...]
    area: float
    found: Mapping[str, Characteristic]
    re_bore: float


def composed(campaign: Campaign, reduced: Reduced, side: Side) -> Composed:
    """The feed of one side from its parts.

    Raises:
        InputError: parts that do not meet at one tap on one basis, or end elsewhere than the feed.
        Infeasible: a part without an effective area.
    """
    _meet(campaign, side)
    keys = tuple(tuple(characteristic_key(part, "alone") for part in group) for group in side.feed.parts)
    found: dict[str, Characteristic] = {}
    for key in (key for group in keys for key in group):
        known = reduced.characteristics.get(key)
        if known is None:
            raise Infeasible(side.id, f"part {key} of its feed has no effective area; run it with water")
        found[key] = known
    losses = [sum(found[key].area_eff.value for key in group) ** -2.0 for group in keys]
    first = found[keys[0][0]]
    bore = campaign.article.circuits[keys[0][0]].bore.value
    return Composed(
        keys=keys,
        area=float(sum(losses) ** -0.5),
        found=found,
        re_bore=first.re_ref * first.area_eff.value / (pi / 4 * bore),  # ideal Re x E/A is that of the pipe
    )


def _meet(campaign: Campaign, side: Side) -> None:
    """Every part begins where the one before ends, on one basis, and the last ends at the feed's tap."""
    parts, taps, feed = campaign.article.circuits, campaign.bench.taps, side.feed
    before = ""
    for group in feed.parts:
        for name in group:
            part, first = parts[name], parts[group[0]]
            if (part.tap, part.down_tap) != (first.tap, first.down_tap):
                raise _refused(
                    side,
                    f"{name} from tap {part.tap} to {part.down_tap}",
                    f"the taps of {group[0]} beside it, {first.tap} and {first.down_tap}",
                )
            if before and part.tap != before:
                raise _refused(
                    side, f"{name} from tap {part.tap}", f"the tap behind the part before, {before}"
                )
            for tap in (part.tap, str(part.down_tap)):
                if taps[tap].basis != feed.basis:
                    raise _refused(
                        side, f"tap {tap} of {name} on {taps[tap].basis}", f"{feed.basis}, the feed's basis"
                    )
        before = str(parts[group[0]].down_tap)
    if before != feed.tap:
        raise _refused(side, f"the last part ends at tap {before}", f"the feed's tap, {feed.tap}")


def _refused(side: Side, found: str, expected: str) -> InputError:
    return InputError(
        (
            Problem(
                file="engine.toml",
                line=None,
                key=f"{side.id}.feed.parts",
                found=found,
                expected=expected,
                try_="name the parts from the tank on; losses add only from one tap to the next, on one basis",
            ),
        )
    )
