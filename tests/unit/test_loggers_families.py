"""One invented sample file per family of text: read to the numbers that a person sees in it, whole and in pieces."""

import random
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from headrace.errors import InputError
from headrace.files.loggers import LOGGERS, family_of, look, read
from headrace.files.loggers.base import NO_ANSWERS, Answers, BadLine, QuestionsOpen, Row, Unreadable
from headrace.files.loggers.front import FrontedParser
from headrace.files.loggers.named import Named

SAMPLES = Path(__file__).resolve().parents[1] / "samples" / "loggers"
T = [round(i / 5, 1) for i in range(10)]
P = [3.10, 3.12, 3.55, 4.02, 4.47, 4.91, 5.20, 5.22, 5.21, 5.19]
Q = [0.021, 0.022, 0.150, 0.310, 0.482, 0.655, 0.790, 0.801, 0.799, 0.797]


def less(values: list[float], *places: int) -> list[float]:
    return [value for place, value in enumerate(values) if place not in places]


@dataclass(frozen=True)
class Sample:
    """What stands in one file; lines by their numbers in an editor."""

    file: str
    p: list[float]
    q: list[float]
    time: list[float]
    names: tuple[str, str] = ("P feed", "flow")
    units: tuple[str | None, str | None] = ("bar", "kg/s")
    bad: tuple[tuple[int, str], ...] = ()
    aside: dict[str, int] = field(default_factory=dict)
    breaks: tuple[int, ...] = ()
    lines: tuple[int, int] = (1, 10)
    answers: Answers = NO_ANSWERS


FILES = {
    "named": Sample(
        "named.txt", P[:9], Q[:9], T[:9], lines=(2, 11), bad=((5, "text between data"), (12, "truncated last line"))
    ),
    "sections": Sample(
        "sections.txt", [*P, 4.10, 4.12, 4.55, 5.02], [*Q, *Q[:4]], [*T, *T[:4]], lines=(8, 25), breaks=(10,),
        aside={"section [HEADER]": 1, "section word": 2, "section [SUMMARY]": 1},
    ),
    "sentences": Sample(
        "sentences.txt", less(P, 5), less(Q, 5), less(T, 5), lines=(3, 15), answers=Answers(table="WTR"),
        bad=((10, "the checksum is wrong"), (16, "truncated last line")), aside={"sentence ENV": 3},
    ),
    "lvm": Sample(
        "lvm.txt", [*P, *P[:6]], [*Q, *Q[:6]], [*T, *T[:6]], lines=(21, 47), breaks=(10,),
        aside={"header block of a segment": 8, "titles of a segment": 1},
    ),
    "packed": Sample(
        "packed.csv", less(P, 6), less(Q, 6), less(T, 6), lines=(2, 11), bad=((8, "a packed field of another length"),)
    ),
    "tagged": Sample(
        "tagged.txt", less(P, 3), less(Q, 3), less(T, 3), names=("PF", "MF"), bad=((4, "another word than MF (MG)"),)
    ),
    "long": Sample(
        "long.csv", less(P, 4, 7), less(Q, 4, 7), less(T, 4, 7), units=(None, None), lines=(3, 20),
        bad=((16, "the lines of a round do not agree"),), aside={"part of a row": 10},
    ),
    "glued": Sample(
        "glued.csv", less(P, 7), less(Q, 7), less(T, 7), lines=(2, 11), bad=((9, "another unit (0.801g/s)"),)
    ),
    "delimited": Sample(
        "delimited.csv", P, Q, T, lines=(4, 14),
        bad=(
            (7, "text between data"), (16, "text between data"), (17, "text between data"), (18, "under other headings")
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("family", FILES)
def test_sample_is_read_to_its_numbers(family: str) -> None:
    want = FILES[family]
    record = read(SAMPLES / want.file, want.answers)
    report = record.report
    assert (report.family, report.questions) == (family, ())
    assert record.time == pytest.approx(want.time, abs=1e-9)
    for name, unit, truth in zip(want.names, want.units, (want.p, want.q), strict=True):
        assert record.columns[name].tolist() == truth
        assert report.dialect.units[report.dialect.names.index(name)] == unit
    assert report.bad_lines == want.bad
    assert report.aside_counts == want.aside
    assert (int(record.lines[0]), int(record.lines[-1])) == want.lines
    assert record.breaks == want.breaks
    lines = report.lines
    assert lines.total == lines.header + lines.rows + lines.bad + lines.blank + lines.headings + lines.aside
    assert lines.total == len((SAMPLES / want.file).read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("size", [1, 7, 1000])
@pytest.mark.parametrize("family", FILES)
def test_piece_by_piece_gives_the_same_as_the_whole(family: str, size: int) -> None:
    want = FILES[family]
    data = (SAMPLES / want.file).read_bytes()
    opener = LOGGERS[family].open_parser
    assert opener is not None
    whole = opener(want.answers)
    events = [*whole.feed(data), *whole.close()]
    pieces = opener(want.answers)
    parts = [event for at in range(0, len(data), size) for event in pieces.feed(data[at : at + size])]
    assert repr([*parts, *pieces.close()]) == repr(events)
    rows = [event for event in events if isinstance(event, Row)]
    assert len(rows) == len(want.time)
    assert pieces.lines == len(data.decode().splitlines())


def test_every_text_family_has_its_sample() -> None:
    assert set(FILES) == {name for name, one in LOGGERS.items() if one.open_parser is not None}


def test_beyond_the_first_bytes_a_front_goes_on_line_by_line() -> None:
    lines = [f"t={i / 100:.2f} s, p={5 + i % 7 / 10:.2f} bar, n={i}" for i in range(20000)]
    lines[15000] = lines[15000].replace("p=", "q=")
    parser = FrontedParser(Named)
    data = ("\n".join(lines) + "\n").encode()
    events = [*parser.feed(data[:300000]), *parser.feed(data[300000:]), *parser.close()]
    rows = [event for event in events if isinstance(event, Row)]
    assert len(rows) == 19999
    assert [(one.line, one.reason) for one in events if isinstance(one, BadLine)] == [
        (15001, "a name that is no column (q) where p lacks")
    ]
    assert rows[15000] == Row(15002, 150.01, (150.01, pytest.approx(5 + 15001 % 7 / 10), 15001.0))


def test_the_kind_of_sentence_is_asked_and_a_wrong_one_too() -> None:
    source = SAMPLES / "sentences.txt"
    with pytest.raises(QuestionsOpen, match=r"logger\.table"):
        read(source)
    assert look(source).questions[0].candidates == ("WTR", "ENV")
    with pytest.raises(QuestionsOpen, match="no sentence is called 'PRS'"):
        read(source, Answers(table="PRS"))
    assert read(source, Answers(table="ENV", names=("t (s)", "air"))).columns["air"].tolist() == [
        19.0,
        19.4,
        19.8,
    ]


def test_sentences_whose_sum_is_no_checksum_are_refused() -> None:
    with pytest.raises(Unreadable, match="neither the XOR nor the sum"):
        read(b"$A,1,2*00\n$A,2,3*00\n$A,3,4*00\n")


def test_the_sum_is_a_checksum_too() -> None:
    bodies = [f"WTR,{i}.0,{i * 2}.5" for i in range(6)]
    data = "".join(f"${body}*{sum(body.encode()) % 256:02X}\n" for body in bodies)
    record = read(data.encode(), Answers(names=("t (s)", "p")))
    assert record.columns["p"].tolist() == [i * 2 + 0.5 for i in range(6)]


def test_a_family_by_answer_and_an_unknown_one() -> None:
    assert family_of(b"a: 1\nb: 2\n", Answers(family="named"))[0] == "named"
    with pytest.raises(InputError, match=r"logger\.family"):
        read(b"t (s),p\n0,1\n1,2\n", Answers(family="tape"))


def test_names_that_are_only_now_and_then_are_told() -> None:
    lines = [f"t: {i}.0 s | p: {i * 3}.5 bar" + (" | note: 7" if i == 3 else "") for i in range(8)]
    report = look("\n".join(lines).encode() + b"\n")
    assert report.rows == 8
    assert any("note (1 times)" in note for note in report.notes)


def test_several_tags_in_another_order_are_not_mixed_up() -> None:
    lines = [f"p1,{i}.25,p2,{i}.75" if i != 4 else f"p2,{i}.75,p1,{i}.25" for i in range(8)]
    record = read(("\n".join(lines) + "\n").encode(), Answers(sample_rate=10.0))
    assert record.report.bad_counts == {"another word than p1 (p2)": 1}
    np.testing.assert_array_equal(record.columns["p2"], [i + 0.75 for i in range(8) if i != 4])


def test_a_channel_named_only_by_its_file_is_shown_not_trusted(tmp_path: Path) -> None:
    file = tmp_path / "PT-07.csv"
    file.write_text("10:00:00.0,5.25\n10:00:00.5,5.26\n10:00:01.0,5.27\n", encoding="utf-8")
    found = look(file)
    assert (found.columns[1].name, found.questions) == ("column 2", ())
    assert any("PT-07.csv" in note for note in found.notes)


JUNK = (
    b"\x00",
    b'"',
    b";",
    b",",
    b"\n",
    b"\xb5",
    b"9",
    b".",
    b"\t",
    b"$",
    b"*",
    b"[",
    b":",
    b"|",
    b"***End_of_Header***",
)


@pytest.mark.parametrize("family", FILES)
def test_mangled_samples_lose_no_line_and_break_nothing(family: str) -> None:
    rng = random.Random(family)
    for _ in range(25):
        data = bytearray((SAMPLES / FILES[family].file).read_bytes())
        for _ in range(rng.randint(1, 5)):
            at, other = rng.randrange(len(data)), rng.randrange(len(data))
            match rng.randrange(4):
                case 0:
                    del data[at : at + rng.randint(1, 30)]
                case 1:
                    data[at:at] = rng.choice(JUNK)
                case 2:
                    data[at:at] = data[other : other + rng.randint(1, 100)]
                case _:
                    data[at] = rng.randrange(256)
        try:
            lines = look(bytes(data)).lines
        except InputError:
            continue
        assert (
            lines.total == lines.header + lines.rows + lines.bad + lines.blank + lines.headings + lines.aside
        )


def test_titles_that_are_numbers_are_never_a_row() -> None:
    text = (SAMPLES / "lvm.txt").read_text(encoding="utf-8").split("X_Value")[0]
    with pytest.raises(InputError):
        read((text + "1.0\t2.0\t3.0\n").encode())
