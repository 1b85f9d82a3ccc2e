"""Odd logger files, all invented, each with what a person would read in it: the truth is written beside the text."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import reduce

from headrace.files.loggers.base import Answers

N = 12
T = tuple(round(i / 10, 1) for i in range(N))
P1 = tuple(round(5.25 + 0.5 * math.sin(i), 3) for i in range(N))
P2 = tuple(round(-1.5 + 0.013 * i, 3) for i in range(N))
HEAD = "t (s),p1 (bar),p2 (bar)\n"


def body(sep: str = ",", mark: str = ".", end: str = "\n", tail: str = "",
         time: Sequence[object] | Callable[[int], object] = T) -> str:  # fmt: skip
    """The invented run as lines: time, two channels with three digits."""
    stamps = [time(i) for i in range(N)] if callable(time) else list(time)
    rows = zip(stamps, P1, P2, strict=True)
    return "".join(
        sep.join((str(t), f"{a:.3f}".replace(".", mark), f"{b:.3f}".replace(".", mark))) + tail + end
        for t, a, b in rows
    )


def each(form: str) -> str:
    """One line per row of the run: t, a and b in a format."""
    return "".join(form.format(t=t, a=a, b=b) for t, a, b in zip(T, P1, P2, strict=True))


@dataclass(frozen=True, kw_only=True)
class Odd:
    """One file. want: "read", "ask" or "refuse"; why: the code of the question, or words of the refusal.

    time, columns: the truth, from the first row on; rows whose line is refused are not among them. bad: reasons and
    counts. answers: with them an asked file gives the truth too.
    """

    point: int
    data: str | bytes
    want: str = "read"
    why: str = ""
    time: Sequence[float] | None = T
    columns: dict[str, Sequence[float]] = field(default_factory=lambda: {"p1": P1, "p2": P2})
    units: dict[str, str | None] = field(default_factory=lambda: {"p1": "bar", "p2": "bar"})
    bad: dict[str, int] = field(default_factory=dict)
    segments: int = 1
    answers: Answers | None = None
    says: str = ""
    dropped: tuple[str, ...] = ()

    @property
    def bytes(self) -> bytes:
        """The file."""
        return self.data if isinstance(self.data, bytes) else self.data.encode()


def sentence(text: str) -> str:
    """A checksummed sentence."""
    return f"${text}*{reduce(lambda a, b: a ^ b, text.encode(), 0):02X}\n"


def without(values: Sequence[float], *places: int) -> list[float]:
    """The values without those of refused lines."""
    return [value for place, value in enumerate(values) if place not in places]


def stamped(form: Callable[[float], str], step: float = 0.1, head: str = "time") -> str:
    """The run with the time written by `form` from seconds."""
    return f"{head},p1 (bar),p2 (bar)\n" + body(time=lambda i: form(i * step))


def pressures(*more: str) -> dict[str, str | None]:
    """Units of a file in which nothing says bar."""
    return dict.fromkeys(("p1", "p2", *more))


LVM = (
    "Measurement\t\nSeparator\tTab\nDecimal_Separator\t.\nMulti_Headings\tYes\nX_Columns\t{x}\n***End_of_Header***\n\n"
    "Channels\t2\t\t\nSamples\t12\t12\t\nDate\t2026/03/12\t2026/03/12\t\nTime\t10:00:0{a}.5\t10:00:0{b}.5\t\n"
    "Y_Unit_Label\tbar\tbar\t\nX_Dimension\tTime\tTime\t\nX0\t0.0E+0\t0.0E+0\t\nDelta_X\t{dx}\t{dx}\t\n"
    "***End_of_Header***\t\t\t\nX_Value\tp1\tp2\tComment\n"
)


def lvm(x: str = "One", a: int = 0, b: int = 0, dx: str = "0.1") -> str:
    """Header blocks of a measurement text."""
    return LVM.format(x=x, a=a, b=b, dx=dx)


def hms(seconds: float, *, start: float = 36000.0) -> tuple[int, int, float]:
    """Hour, minute, second of a clock that began at `start`."""
    total = round(start + seconds, 6)
    return int(total // 3600) % 24, int(total // 60) % 60, round(total % 60, 6)


ROW = "1.20,5.100,-1.300\n"
MORE = {"time": [*T, 1.2], "columns": {"p1": [*P1, 5.1], "p2": [*P2, -1.3]}}
EPOCH = 1773482400

ODD: dict[str, Odd] = {
    # -- files and bytes
    "latin-1 degree": Odd(
        point=1, data=("t (s),p1 (bar),p2 (°C)\n" + body()).encode("latin-1"), units={"p1": "bar", "p2": "°C"}
    ),
    "cp1252 preamble": Odd(point=1, data=("Prüfstand – Lauf „A“\n" + HEAD + body()).encode("cp1252")),
    "damaged degree": Odd(
        point=1,
        data="t (s),p1 (bar),p2 (\ufffdC)\n" + body(),
        columns={"p1": P1, "p2 (\ufffdC)": P2},
        units={"p1": "bar", "p2 (\ufffdC)": "\ufffdC"},
    ),
    "nul in one line": Odd(
        point=1, data=HEAD + body() + "1.15,5.\x001,-1.3\n" + ROW, bad={"control bytes": 1}, **MORE
    ),
    "crlf": Odd(point=2, data=HEAD.replace("\n", "\r\n") + body(end="\r\n")),
    "no last line end": Odd(point=2, data=(HEAD + body())[:-1]),
    "blank lines at the end": Odd(point=2, data=HEAD + body() + "\n\n\n"),
    "blank line after each": Odd(point=2, data=HEAD + body(end="\n\n")),
    "cut last record": Odd(point=3, data=HEAD + body() + "1.20,5.1", bad={"truncated last line": 1}),
    "cut last value": Odd(point=3, data=HEAD + body() + "1.20,5.100,-1.3", bad={"truncated last line": 1}),
    "pointer text": Odd(
        point=4,
        want="refuse",
        why="pointer",
        data="version https://example.org/spec/v1\noid sha256:4d7a2146\nsize 12345\n",
    ),
    "headings without rows": Odd(point=4, data=HEAD + "\n", want="refuse", why="zero rows"),
    "a picture": Odd(point=5, data=b"\x89PNG\r\n\x1a\n" + bytes(64), want="refuse", why="picture"),
    "pairs by pipes": Odd(point=5, data=each("t: {t} s | p1: {a:.3f} bar | p2: {b:.3f} bar\n")),
    "pairs after a clock": Odd(
        point=5,
        data="".join(f"10:00:{t:04.1f} -> p1:{a:.3f},T:{b:.3f}\n" for t, a, b in zip(T, P1, P2, strict=True)),
        columns={"p1": P1, "T": P2},
        units={},
    ),
    "pairs by blanks, one lacks": Odd(
        point=5,
        data=each("t_s={t} p1_bar={a:.3f} p2_bar={b:.3f}\n") + "t_s=1.2 p1_bar=5.1\n",
        columns={"p1_bar": P1, "p2_bar": P2},
        units={"p1_bar": "bar", "p2_bar": "bar"},
        bad={"too few fields": 1},
    ),
    "sentences of one kind": Odd(
        point=5,
        data="# t (s),p1 (bar),p2 (bar)\n"
        + "".join(sentence(f"WTR,{t},{a:.3f},{b:.3f}") for t, a, b in zip(T, P1, P2, strict=True)),
    ),
    "sentences of two kinds": Odd(
        point=5,
        data="# WTR,t (s),p1 (bar),p2 (bar)\n"
        + "".join(
            sentence(f"WTR,{t},{a:.3f},{b:.3f}") + sentence(f"ENV,{t},19.5")
            for t, a, b in zip(T, P1, P2, strict=True)
        ),
        want="ask",
        why="several-tables",
        answers=Answers(table="WTR"),
    ),
    "measurement text": Odd(point=5, data=lvm() + body(sep="\t", tail="\t")),
    "measurement text without times": Odd(point=5, data=lvm("No") + body(sep="\t", tail="\t", time=[""] * N)),
    # -- separators and numbers
    "comma and blank": Odd(point=6, data=HEAD.replace(",", ", ") + body(", ")),
    "semicolon": Odd(point=6, data=HEAD.replace(",", ";") + body(";")),
    "tab": Odd(point=6, data=HEAD.replace(",", "\t") + body("\t")),
    "single blank": Odd(point=6, data="t[s] p1[bar] p2[bar]\n" + body(" ")),
    "pipes": Odd(point=6, data=HEAD.replace(",", " | ") + body(" | ")),
    "trailing commas": Odd(point=6, data=HEAD + body(tail=",,")),
    "decimal comma": Odd(
        point=7, data=HEAD.replace(",", ";") + body(";", ",", time=[f"{t:.1f}".replace(".", ",") for t in T])
    ),
    "decimal comma with exponents": Odd(
        point=7,
        data=HEAD.replace(",", "\t")
        + "".join(
            f"{t:.6E}\t{a:.6E}\t{b:.6E}\n".replace(".", ",") for t, a, b in zip(T, P1, P2, strict=True)
        ),
    ),
    "padded numbers": Odd(point=7, data=HEAD + each("{t:8.2f},{a:10.3f},{b:10.3f}\n")),
    "three digits after each comma": Odd(
        point=7,
        data="a (bar);b (bar)\n1,234;5,678\n2,345;6,789\n3,456;7,891\n",
        want="ask",
        why="decimal-mark",
        answers=Answers(decimal="comma", sample_rate=10.0),
        time=[0, 0.1, 0.2],
        columns={"a": [1.234, 2.345, 3.456], "b": [5.678, 6.789, 7.891]},
        units={"a": "bar"},
    ),
    "commas for both": Odd(
        point=7,
        data=HEAD + body(mark=",", time=[f"{t:.1f}".replace(".", ",") for t in T]),
        want="ask",
        why="decimal-mark",
        answers=Answers(decimal="comma"),
    ),
    "packed field": Odd(
        point=8, data='t (s),"p1 (bar),p2 (bar)"\n' + each('{t},"{a:.3f},{b:.3f}"\n'), says="split"
    ),
    "packed line": Odd(
        point=8, data=HEAD + "".join(f'"{line}"\n' for line in body().splitlines()), says="split"
    ),
    "thousands in quotes": Odd(
        point=8,
        data="t (s),p1 (Pa)\n" + "".join(f'{t},"1,{i:03d},500.5"\n' for i, t in enumerate(T)),
        columns={"p1": [1000500.5 + 1000 * i for i in range(N)]},
        units={"p1": "Pa"},
    ),
    "packed block": Odd(
        point=8,
        data="t (s),samples\n"
        + "".join(f'{i},"{",".join(f"{k / 7:.3f}" for k in range(i, i + 80))}"\n' for i in range(6)),
        want="refuse",
        why="block of samples",
    ),
    # -- headings
    "no headings": Odd(
        point=9,
        data=body(),
        want="ask",
        why="time-unit",
        answers=Answers(names=("t", "p1", "p2"), time_unit="s"),
        units=pressures(),
    ),
    "preamble of 23 lines": Odd(
        point=9, data="".join(f"Note {i}: text, {i}\n" for i in range(23)) + HEAD + body()
    ),
    "key and value above": Odd(
        point=9, data="Operator;A. Example\nRate;10\nGain;1;2;4;8\n" + HEAD.replace(",", ";") + body(";")
    ),
    "sections and a footer of numbers": Odd(
        point=9, data="[HEADER]\nLogger,X\nGain,1,2\n[DATA]\n" + HEAD + body() + "[END]\n1.2,9.9,9.9\n"
    ),
    "two header blocks": Odd(
        point=9, data="[GENERAL]\nOperator,A\n[CHANNELS]\n" + HEAD + "[DATA]\n" + body()
    ),
    "banner": Odd(point=9, data="=" * 40 + "\n   INVENTED LOGGER 3\n" + "=" * 40 + "\n" + HEAD + body()),
    "psi in brackets": Odd(
        point=10, data="t [s],p1 (psi),p2 [Bar]\n" + body(), units={"p1": "psi", "p2": "Bar"}
    ),
    "second line of units": Odd(point=10, data="t,p1,p2\n(s),(bar),(bar)\n" + body()),
    "units over the names": Odd(point=10, data="s,bar,bar\nt,p1,p2\n" + body()),
    "copyright sign": Odd(point=10, data="t (s),p1 (bar),p2 ©\n" + body(), units={"p1": "bar", "p2": "©"}),
    "a word that is no unit": Odd(
        point=10,
        data="t (s),p1 (north),p2 (bar)\n" + body(),
        columns={"p1 (north)": P1, "p2": P2},
        units={"p2": "bar"},
    ),
    "Deg F": Odd(
        point=10, data="t (s),p1 (Deg F),p2 (deg F)\n" + body(), units={"p1": "Deg F", "p2": "deg F"}
    ),
    "unit as last word": Odd(
        point=10,
        data="t_s,p1_bar,p2_degC\n" + body(),
        columns={"p1_bar": P1, "p2_degC": P2},
        units={"p1_bar": "bar", "p2_degC": "degC"},
    ),
    "units glued to numbers": Odd(point=10, data="t,p1,p2\n" + each("{t}s,{a:.3f}bar,{b:.3f} bar\n")),
    "no unit at all": Odd(point=10, data="t (s),p1,p2\n" + body(), units=pressures()),
    "fewer names": Odd(
        point=11,
        data="t (s),p1 (bar)\n" + body(),
        want="ask",
        why="names-do-not-fit",
        answers=Answers(names=("t (s)", "p1 (bar)", "p2 (bar)")),
        columns={},
        units={},
    ),
    "more names": Odd(
        point=11,
        data="t (s),p1 (bar),p2 (bar),q (bar)\n" + body(),
        want="ask",
        why="names-do-not-fit",
        answers=Answers(names=("t (s)", "p1 (bar)", "p2 (bar)")),
        columns={},
        units={},
    ),
    "empty name in the middle": Odd(
        point=11,
        data="t (s),,p2 (bar)\n" + body(),
        columns={"column 2": P1, "p2": P2},
        units={"column 2": None, "p2": "bar"},
    ),
    "two empty names": Odd(
        point=11, data="t (s),,\n" + body(), columns={"column 2": P1, "column 3": P2}, units={}
    ),
    "blanks before names": Odd(point=11, data="  t (s),   p1 (bar), p2 (bar)\n" + body()),
    "title in the first cell": Odd(
        point=11,
        data="Run 7,p1 (bar),p2 (bar)\n" + body(),
        want="ask",
        why="no-time-column",
        answers=Answers(time_column=1, time_unit="s"),
    ),
    "tag and value": Odd(point=11, data=each("t,{t},s,p1,{a:.3f},bar,p2,{b:.3f},bar\n")),
    "tag of another channel": Odd(
        point=11,
        data="".join(
            f"t,{t},s,{'p1' if i != 4 else 'p9'},{a:.3f},bar,p2,{b:.3f},bar\n"
            for i, (t, a, b) in enumerate(zip(T, P1, P2, strict=True))
        ),
        time=without(T, 4),
        columns={"p1": without(P1, 4), "p2": without(P2, 4)},
        bad={"another word than p1 (p9)": 1},
    ),
    "headings repeated after junk": Odd(
        point=12,
        data=HEAD + body() + "\x02\x7f\x00" + HEAD + body(),
        segments=2,
        time=[*T, *T],
        columns={"p1": [*P1, *P1], "p2": [*P2, *P2]},
    ),
    "other headings in mid-file": Odd(
        point=12,
        data=HEAD + body() + "t (s),p2 (bar),p1 (bar)\n" + body(),
        bad={"under other headings": 12, "text between data": 1},
    ),
    # -- time
    "milliseconds": Odd(point=13, data=stamped(lambda s: f"{s * 1000:.0f}", head="t (ms)")),
    "epoch ms": Odd(point=13, data=stamped(lambda s: f"{(EPOCH + s) * 1000:.0f}")),
    "epoch ms of 1 s": Odd(
        point=13, data=stamped(lambda s: f"{EPOCH + int(s)}000"), time=[int(t) for t in T]
    ),
    "iso": Odd(point=13, data=stamped(lambda s: f"2026-03-14T10:00:{s:06.3f}")),
    "points in the date": Odd(point=13, data=stamped(lambda s: f"14.03.2026 10:00:{s:06.3f}")),
    "twelve hours": Odd(
        point=13,
        data=stamped(
            lambda s: "{:02d}:{:02d}:{:04.1f} {}".format(
                (hms(s, start=43199.5)[0] - 1) % 12 + 1,
                *hms(s, start=43199.5)[1:],
                "AM" if hms(s, start=43199.5)[0] < 12 else "PM",
            )
        ),
    ),
    "hour lost": Odd(point=13, data=stamped(lambda s: "{:02d}:{:04.1f}".format(*hms(s, start=3599.5)[1:]))),
    "milliseconds after a colon": Odd(
        point=13,
        data=stamped(
            lambda s: "10:00:{:02d}:{:d}".format(*divmod(998 + round(s * 1000) // 50, 1000)), head="clock"
        ),
        time=[0.002 * i for i in range(N)],
    ),
    "thousand milliseconds": Odd(
        point=13,
        data="clock,p1 (bar),p2 (bar)\n"
        + body(
            time=["10:00:00:800", "10:00:00:900", "10:00:00:1000", *[f"10:00:01:{i}00" for i in range(1, 10)]]
        ),
    ),
    "packed clock": Odd(
        point=13,
        data=stamped(lambda s: "{:02d}{:02d}{:07.4f}".format(*hms(s, start=35999.5))),
        want="ask",
        why="time-unit",
        answers=Answers(time_unit="hhmmss", time_fraction="decimal"),
    ),
    "milliseconds on four digits": Odd(
        point=13,
        data=stamped(lambda s: "10:00:{:02d}.{:04d}".format(*divmod(round(s * 1000), 1000))),
        want="ask",
        why="time-fraction",
        answers=Answers(time_fraction="ms"),
    ),
    "day or month first": Odd(
        point=13,
        data=stamped(lambda s: f"03/04/2026 10:00:{s:06.3f}"),
        want="ask",
        why="date-order",
        answers=Answers(date_order="dmy"),
    ),
    "second of the minute": Odd(
        point=14,
        data=HEAD + body(time=[(54 + 6 * i) % 60 for i in range(N)]),
        want="ask",
        why="time-wraps",
        answers=Answers(time_wrap=60.0),
        time=[6.0 * i for i in range(N)],
    ),
    "restarts at zero": Odd(
        point=14,
        data=HEAD + body() + body(),
        segments=2,
        time=[*T, *T],
        columns={"p1": [*P1, *P1], "p2": [*P2, *P2]},
    ),
    "pre-trigger": Odd(point=14, data=HEAD + body(time=lambda i: f"{i / 10 - 0.5:.1f}")),
    "large start": Odd(point=14, data=HEAD + body(time=lambda i: f"{i / 10 + 81234.5:.1f}")),
    "one row at zero": Odd(
        point=14,
        data=HEAD + body(time=[*T[:5], 0, *T[6:]]),
        time=without(T, 5),
        columns={"p1": without(P1, 5), "p2": without(P2, 5)},
        bad={"time out of order": 1},
    ),
    "six rows a stamp": Odd(point=14, data=HEAD + body(time=[0] * 6 + [1] * 6), time=[0] * 6 + [1] * 6),
    "pause of two minutes": Odd(
        point=14,
        data=HEAD + body(time=[*T[:6], *(round(t + 120, 1) for t in T[6:])]),
        time=[*T[:6], *(t + 120 for t in T[6:])],
    ),
    "uneven printed step": Odd(
        point=14,
        data=HEAD + body(time=[f"{i / 30:.2f}" for i in range(N)]),
        time=[round(i / 30, 2) for i in range(N)],
    ),
    "clock stands still": Odd(point=14, data=HEAD + body(time=[7.5] * N), want="ask", why="time-stands"),
    "no time": Odd(
        point=15,
        data="p1 (bar),p2 (bar)\n" + each("{a:.3f},{b:.3f}\n"),
        want="ask",
        why="no-time-column",
        answers=Answers(sample_rate=10.0),
    ),
    "rate above the table": Odd(
        point=15,
        data="Channels at 10 Hz\np1 (bar),p2 (bar)\n" + each("{a:.3f},{b:.3f}\n"),
        want="ask",
        why="no-time-column",
        answers=Answers(sample_rate=10.0),
        says="10 Hz",
    ),
    "two clocks": Odd(
        point=15,
        data="arrival (s),device time (ms),p1 (bar)\n"
        + "".join(f"{t},{1000 + 101 * i},{a:.3f}\n" for i, (t, a) in enumerate(zip(T, P1, strict=True))),
        want="ask",
        why="two-clocks",
        answers=Answers(time_column="device time"),
        time=[0.101 * i for i in range(N)],
        columns={"p1": P1},
        units={},
    ),
    "step against the times": Odd(
        point=15,
        data=lvm(dx="0.2") + body(sep="\t", tail="\t"),
        want="ask",
        why="step-contradicts",
        answers=Answers(time_column="X_Value"),
    ),
    "starts of their own": Odd(
        point=15,
        data=lvm(b=3) + body(sep="\t", tail="\t"),
        want="ask",
        why="step-contradicts",
        answers=Answers(time_column="X_Value"),
    ),
    "estimated time": Odd(
        point=16,
        data="estimated time (s),p1 (bar),p2 (bar)\n" + body(),
        want="ask",
        why="time-estimated",
        answers=Answers(time_column=1),
    ),
    "collection time": Odd(
        point=16,
        data="collection time (s),p1 (bar),p2 (bar)\n" + body(time=[30.1 + 0.2 * i for i in range(N)]),
        want="ask",
        why="time-estimated",
        answers=Answers(time_column="none", sample_rate=1.0),
        time=[float(i) for i in range(N)],
    ),
    # -- lines that are no data
    "text in every column": Odd(
        point=17,
        data="clock,state\n" + "".join(f"10:00:{t:04.1f},RUN\n" for t in T),
        want="refuse",
        why="besides the clock",
    ),
    "messages between": Odd(
        point=17, data=HEAD + body() + "VALVE OPEN\nT-10\n" + ROW, bad={"text between data": 2}, **MORE
    ),
    "countdown of numbers": Odd(
        point=17, data=HEAD + body() + "3\n2\n1\n" + ROW, bad={"too few fields": 3}, **MORE
    ),
    "no data": Odd(
        point=17,
        data=HEAD + body() + "<no data>\n,,\n" + ROW,
        bad={"text between data": 1, "empty record": 1},
        **MORE,
    ),
    "words in a channel": Odd(
        point=17,
        data=HEAD + body() + "1.20,STANDBY,-1.300\n",
        time=[*T, 1.2],
        columns={"p1": [*P1, math.nan], "p2": [*P2, -1.3]},
    ),
    "a column of states": Odd(
        point=17,
        data="t (s),state,p1 (bar)\n"
        + "".join(
            f"{t},{'HOLD' if i < 6 else 'RUN'},{a:.3f}\n" for i, (t, a) in enumerate(zip(T, P1, strict=True))
        ),
        columns={"p1": P1},
        units={"p1": "bar"},
        dropped=("state",),
    ),
    "merged lines": Odd(
        point=18,
        data=HEAD + body() + "1.15,5.100,-1.31.2,5.100,-1.3\n" + ROW,
        bad={"too many fields": 1},
        **MORE,
    ),
    "lost digits under a checksum": Odd(
        point=18,
        data="# t (s),p1 (bar),p2 (bar)\n"
        + "".join(sentence(f"WTR,{t},{a:.3f},{b:.3f}") for t, a, b in zip(T, P1, P2, strict=True)).replace(
            f"{P1[4]:.3f}", f"{P1[4]:.3f}"[1:], 1
        ),
        time=without(T, 4),
        columns={"p1": without(P1, 4), "p2": without(P2, 4)},
        bad={"the checksum is wrong": 1},
    ),
    "lost digits of the time": Odd(
        point=18,
        data=HEAD
        + body(time=[*(f"{t + 305.6:.1f}" for t in T[:5]), "3.0", *(f"{t + 305.6:.1f}" for t in T[6:])]),
        time=without(T, 5),
        columns={"p1": without(P1, 5), "p2": without(P2, 5)},
        bad={"time out of order": 1},
    ),
    "all-zero row": Odd(
        point=19, data=HEAD + body() + "1.15,0.000,0.000\n" + ROW, bad={"all-zero row": 1}, **MORE
    ),
    "twin columns": Odd(
        point=19,
        data="t (s),p1 (bar),p2 (bar)\n" + each("{t},{a:.3f},{a:.3f}\n"),
        columns={"p1": P1, "p2": P1},
        says="same values",
    ),
    "footer of text": Odd(
        point=20,
        data=HEAD + body() + "\nSummary\nmean,5.1\n",
        bad={"text between data": 1, "too few fields": 1},
    ),
    "footer of a table": Odd(
        point=20,
        data=HEAD + body() + "\nSummary of run 7\nlevel,mean,most\n99.0,5.250,5.750\n",
        bad={"text between data": 2, "under other headings": 1},
    ),
    "side table": Odd(
        point=20,
        data=HEAD.replace("\n", ",,Summary,\n")
        + "".join(
            line + (f",,{key},{value}\n" if i < 3 else ",,,\n")
            for i, line in enumerate(body().splitlines())
            for key, value in [
                (("flow", "0.39kg/s"), ("mean p1", "5.25"), ("n", "12"))[i] if i < 3 else ("", "")
            ]
        ),
        says="side table",
    ),
    "footer of means": Odd(
        point=20,
        data=HEAD + body() + "Averages\n1.6,5.250,-1.400\n",
        bad={"text between data": 1, "footer": 1},
    ),
    "a last row after a blank line": Odd(
        point=20, data=HEAD + body() + "\n1.9,5.250,-1.400\n", bad={"footer": 1}
    ),
    "side table without trailing commas": Odd(
        point=20,
        data=HEAD[:-1]
        + ",,Summary,\n"
        + "".join(
            line + (f",,n{i},{i}.5\n" if i < 3 else "\n") for i, line in enumerate(body().splitlines())
        ),
        want="ask",
        why="time-unit",
        answers=Answers(names=("t (s)", "p1 (bar)", "p2 (bar)"), time_column=1, time_unit="s"),
        time=T[3:],
        columns={"p1 (bar)": P1[3:], "p2 (bar)": P2[3:]},
        units={},
        bad={"too many fields": 3},
    ),
    "summary cells with glued units": Odd(
        point=20, data=HEAD + body() + ",mean,0.39kg/s\n,,0.41kg/s\n", bad={"text between data": 2}
    ),
    # -- meaning
    "volts under a pressure": Odd(
        point=21,
        data="t (s),pressure 1 (V),pressure 2 (counts)\n" + body(),
        columns={"pressure 1": P1, "pressure 2": P2},
        units={"pressure 1": "V", "pressure 2": "counts"},
    ),
    "derived channel beside": Odd(
        point=21,
        data="t (s),p1 (bar),p1 per s (bar/s)\n" + body(),
        columns={"p1": P1, "p1 per s": P2},
        units={"p1": "bar", "p1 per s": "bar/s"},
    ),
    "pressures alike": Odd(
        point=22,
        data="t (s),P (bar),P (bar)\n" + body(),
        columns={"P": P1, "P_2": P2},
        units={"P": "bar", "P_2": "bar"},
        says="repeats the name",
    ),
    "one value a line": Odd(
        point=22,
        data="time (s),channel,value\n" + each("{t},p1,{a:.3f}\n{t},p2,{b:.3f}\n"),
        units=pressures(),
    ),
    "one value a line, no rounds": Odd(
        point=22,
        data="time (s),channel,value\n"
        + "".join(
            f"{t},p1,{a:.3f}\n" + (f"{t},p2,{b:.3f}\n" if i % 2 else "")
            for i, (t, a, b) in enumerate(zip(T, P1, P2, strict=True))
        ),
        want="ask",
        why="several-tables",
        answers=Answers(table="p1"),
        columns={"p1": P1},
        units={"p1": None},
    ),
    "name against content": Odd(point=23, data="Run: 8\n" + HEAD + body()),
    "bucket table": Odd(
        point=24,
        data="run,mass (lb),time (s)\n1,10.5,30.1\n2,10.7,30.2\n3,10.6,29.9\n1,20.4,30.0\n2,20.5,30.3\n",
        want="ask",
        why="no-time-column",
        columns={},
        units={},
        time=None,
    ),
}
"""Every file by what is odd in it."""
