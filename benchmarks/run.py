"""Times are printed, ratios are judged, all in one run of one machine. Leaves with 1 when a ratio is missed,
or a damaged folder ends in other than words."""

import sys
from collections.abc import Callable

import chain
import mangled
import startup
import throughput

LARGE: dict[str, tuple[str, Callable[[float], bool]]] = {
    "twice the runs take": ("<= 2.2", lambda ratio: ratio <= 2.2),
    "their memory is": ("<= 1.3", lambda ratio: ratio <= 1.3),
    "two processes are faster": (">= 1.7", lambda ratio: ratio >= 1.7),
    "reduce again, against --help": ("<= 2", lambda ratio: ratio <= 2),
}


def main() -> int:
    """Run all benchmarks; 0 when every ratio holds."""
    frozen = chain.demo()
    print("the demo, once")
    for what, seconds in frozen.seconds.items():
        print(f"  {what + ':':45s} {seconds:7.3f} s")
    print("\n".join(chain.whole_runs(frozen)))
    print("one draw of the demo's chain")
    faster, lines = chain.judged(frozen)
    print("\n".join(lines))
    good = _verdict("blocks are faster", faster, f">= {chain.LEAST_RATIO:g}", faster >= chain.LEAST_RATIO)
    print("first answer of the command")
    slower, lines = startup.judged()
    print("\n".join(lines))
    good &= _verdict("headrace is slower", slower, f"<= {startup.MOST_RATIO:g}", slower <= startup.MOST_RATIO)
    print("large campaigns")
    ratios, lines = throughput.campaigns()
    print("\n".join(lines))
    for what, (wanted, holds) in LARGE.items():
        good &= _verdict(what, ratios[what], wanted, holds(ratios[what]))
    print("a long file")
    slower, lines = throughput.brought()
    print("\n".join(lines))
    good &= _verdict("bring is slower", slower, "<= 1.8", slower <= 1.8)
    print("ten thousand damaged folders and logger files")
    broken, lines = mangled.judged()
    print("\n".join(lines))
    print(f"  promises broken: {broken} (wanted 0) {'MISSED' if broken else 'holds'}")
    return 0 if good and not broken else 1


def _verdict(what: str, ratio: float, wanted: str, holds: bool) -> bool:
    print(f"  {what}: {ratio:.2f} times (wanted {wanted}) {'holds' if holds else 'MISSED'}")
    return holds


if __name__ == "__main__":
    sys.exit(main())
