"""Values of engine.toml that carry no doubt although the balance rests on them. Start at `stated_exact`.

A value without ± is taken as exact; that makes every interval narrower, so it is told.
"""

from collections.abc import Iterator

from headrace.notices import Notice, Severity
from headrace.records.given import Engine


def stated_exact(engine: Engine) -> tuple[Notice, ...]:
    """One notice that names them all; none when each has its doubt. A `step` of zero is told apart."""
    keys = tuple(_keys(engine))
    if not keys:
        return ()
    return (
        Notice(
            code="stated-as-exact",
            severity=Severity.DOUBT,
            text=f"engine.toml gives no doubt for {', '.join(keys)}: taken as exact, left out of every interval.",
            limit="common practice: what was measured or computed has a doubt",
            try_='write it behind the value, as "0.93 ± 0.02 (k=1)"',
            about="engine.toml",
        ),
    )


def _keys(engine: Engine) -> Iterator[str]:
    for key, u in (
        ("chamber.d_throat", engine.d_throat.u),
        ("chamber.c_throat", engine.c_throat.u),
        ("c_star.doubt", engine.c_star.u_rel),
        ("c_star.efficiency", engine.c_star.efficiency.u),
    ):
        if u == 0:
            yield key
    for name, side in engine.sides.items():
        stated = [
            ("temperature", side.temperature),
            ("density", side.density),
            ("feed.area_eff", side.feed.area_eff),
        ]
        stated += [(f"circuit {one.id}: step_ratio", one.step_ratio) for one in side.circuits]
        yield from (f"{name}.{key}" for key, value in stated if value is not None and value.u == 0)
