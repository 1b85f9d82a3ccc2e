"""Names of sources of doubt in words, for paper; JSON keeps the ids. Refuses nothing. Start at `in_words`."""

WHOLE = {
    "c_star.efficiency": "c* efficiency",
    "c_star.table": "c* table",
    "throat.diameter": "throat diameter",
    "throat.discharge": "throat discharge coefficient",
    "stand.barometer": "barometer",
    "water.density": "water density",
    "water.thermometer": "water temperature",
    "manual.exponent": "gas exponent between hand readings",
}
"""Ids that are words only as a whole."""
OF_A_PLACE = {
    "step": "step from water",
    "re_distance": "Reynolds number beyond tests",
    "contraction": "shrinking in the cold",
    "feed": "feed area",
    "head": "head",
    "density": "density",
    "temperature": "temperature",
    "droop": "regulator droop",
    "lockup": "regulator lock-up",
    "day": "day to day",
    "setup": "set-up to set-up",
    "between_lines": "line against line",
    "window": "choice of window",
    "noise": "scatter within runs",
    "slope_noise": "scatter of the slope",
    "model": "constant or slope",
    "outlet_height": "outlet height",
    "tare": "zero",
    "total": "total",
    "duration": "duration",
}
"""What follows a circuit, a side or a run: "ox: step from water"."""
OF_A_DEVICE = {
    "c": ("meter", "coefficient"),
    "factor": ("meter", "factor"),
    "d_pipe": ("meter", "pipe bore"),
    "d_throat": ("meter", "throat bore"),
    "class": ("gauge", "class"),
    "reading": ("gauge", "reading"),
    "time": ("gauge", "time of reading"),
    "linearity": ("channel", "linearity"),
    "drift": ("channel", "drift"),
    "gain": ("", "gain"),
    "height": ("tap", "height"),
    "section": ("vessel", "cross-section"),
}
"""What follows a device, with the word that goes before its tag: "gauge PG-OX class"."""


def in_words(source: str) -> str:
    """One source's id in words; an id of a kind not listed keeps its own, with blanks.

    >>> in_words("ox.step"), in_words("PG-OX.class"), in_words("2026-03-12.ox.day")
    ('ox: step from water', 'gauge PG-OX class', '2026-03-12, ox: day to day')
    """
    if source in WHOLE:
        return WHOLE[source]
    *where, last = source.split(".")
    if last in OF_A_DEVICE and where:
        kind, what = OF_A_DEVICE[last]
        moment = [where.pop()] if where[-1] in ("start", "end") and len(where) > 1 else []
        *before, tag = where
        device = " ".join(part for part in (kind, tag, what) if part)
        return (f"{', '.join(before)}: " if before else "") + " ".join((device, *moment))
    what = OF_A_PLACE.get(last, last.replace("_", " "))
    return f"{', '.join(where)}: {what}" if where else what
