"""Times are printed, ratios are judged, all in one run of one machine. Leaves with 1 when a ratio is missed."""

import sys

import chain
import startup


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
    return 0 if good else 1


def _verdict(what: str, ratio: float, wanted: str, holds: bool) -> bool:
    print(f"  {what}: {ratio:.2f} times (wanted {wanted}) {'holds' if holds else 'MISSED'}")
    return holds


if __name__ == "__main__":
    sys.exit(main())
