"""A gauge read off film: parallax, which is one error of the camera's place, and the steps to which frames are read."""

from collections.abc import Iterator

from headrace.bench.instruments.case import Case, Term
from headrace.bench.instruments.effects.rounding import left


def parallax(case: Case) -> Iterator[Term]:
    """The pointer seen from aside: the same in all frames and runs of one set-up, whatever zero was taken."""
    film = case.conditions.film
    if film is not None:
        yield Term(
            name=f"{film.camera}.{case.tag}.parallax",
            u=film.u_parallax,
            dist="rectangular",
            scope="instrument",
            origin=f"parallax of {film.camera} as stated",
            shape=case.ones,
        )


def frames(case: Case) -> Iterator[Term]:
    """Each frame is read to a quarter of a division: it averages where the pointer moves, and stays where it rests."""
    film, conditions = case.conditions.film, case.conditions
    if film is None or film.step is None:
        return
    yield Term(
        name=f"{case.run}.{case.tag}.frames",
        u=left(
            film.step,
            noise=conditions.noise or 0.0,
            sweep=conditions.sweep,
            tared=case.tared,
            rest=conditions.rest,
        ),
        dist="rectangular",
        scope="run",
        origin="frames read to a quarter of a division (common practice)",
        shape=case.ones,
    )
