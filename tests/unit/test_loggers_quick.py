"""Blocks of clean lines read at once say what the careful reader says, line by line."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headrace.files.loggers.base import BadLine, Item, Rows
from headrace.files.loggers.delimited import DelimitedParser
from headrace.files.loggers.quick import Quick

HEAD = "t (s),p (bar)\n"
PLAIN = "".join(f"{n / 10:.1f},{n}.5\n" for n in range(300))


def items(text: str | bytes, *, fast: bool) -> list[Item]:
    """All items, with consecutive rows one by one."""
    parser = DelimitedParser(fast=fast)
    data = text.encode() if isinstance(text, str) else text
    out: list[Item] = []
    for item in [*parser.feed_blocks(data), *parser.close_blocks()]:
        if isinstance(item, Rows):
            out += [
                Rows(item.lines[k : k + 1], item.time[k : k + 1], item.values[k : k + 1])
                for k in range(len(item.lines))
            ]
        else:
            out.append(item)
    return out


def same(text: str | bytes) -> None:
    """Both ways give the same."""
    assert repr(items(text, fast=True)) == repr(items(text, fast=False))


ODD = {
    "a hole": "3.0,\n",
    "a word": "3.0,STANDBY\n",
    "too few": "3.0\n",
    "too many": "3.0,1,2\n",
    "merged": "3.0,1.53.1,1.6\n",
    "two marks": "3.0,1.5.2\n",
    "sign within": "3.0,1-5\n",
    "half an exponent": "3.0,1e\n",
    "beyond all numbers": "3.0,1e400\n",
    "quoted": '3.0,"1.5"\n',
    "control byte": "3.0,1.\x015\n",
    "blank": "\n",
    "blanks around": "3.0, 1.5 \n",
    "blanks only": "3.0,   \n",
    "blank within": "3.0,1 5\n",
    "exponent after the point": "3.0,1.e2\n",
    "heading again": HEAD,
    "carriage return": "3.0,1.5\r\n",
    "underscore": "3.0,1_0\n",
    "hexadecimal": "3.0,0x10\n",
    "infinity": "3.0,inf\n",
    "not ASCII": "3.0,1.5µ\n",
}


@pytest.mark.parametrize("odd", ODD.values(), ids=ODD)
@pytest.mark.parametrize("often", [1, 40])
def test_an_odd_line_among_clean_ones_is_judged_alone(odd: str, often: int) -> None:
    rows = PLAIN.splitlines(keepends=True)
    for place in range(50, 50 + often):
        rows[place] = odd.replace("3.0", rows[place].partition(",")[0])
    same(HEAD + "".join(rows))


def test_clean_lines_take_the_quick_way(monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[int] = []
    real = Quick.items

    def spy(self: Quick, block: bytes, first: int) -> object:
        found = real(self, block, first)
        taken.append(0 if found is None else found[0])
        return found

    monkeypatch.setattr(Quick, "items", spy)
    assert len(items(HEAD + PLAIN, fast=True)) == 301
    assert taken == [300]
    items(HEAD + PLAIN.replace("1.5", "1.5,9"), fast=True)
    assert sum(taken[1:]) == 0


@pytest.mark.parametrize(
    "text",
    [
        (HEAD + PLAIN).replace("\n", "\r\n"),
        (HEAD + PLAIN).replace(",", ";").replace(".", ","),
        (HEAD + PLAIN).replace(",", "\t"),
        HEAD + PLAIN.replace("\n", ",,\n"),
        PLAIN,
        b"\xef\xbb\xbf" + (HEAD + PLAIN).encode(),
        ("T (\xb0C),p (bar)\n" + PLAIN).encode("latin-1"),
        (HEAD + PLAIN).encode("utf-16"),
        HEAD + PLAIN[:-4],
    ],
    ids=["CRLF", "decimal comma", "tabs", "trailing commas", "no heading", "mark", "latin-1", "utf-16", "cut"],
)  # fmt: skip
def test_other_dialects(text: str | bytes) -> None:
    same(text)


NUMBER = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.floats(min_value=-1e6, max_value=1e6).map(lambda value: f"{value:.6f}"),
    st.integers(min_value=-(10**20), max_value=10**20).map(str),
    st.text("0123456789.+-eE ", max_size=8),
)


@settings(max_examples=80, deadline=None)
@given(st.lists(NUMBER, min_size=1, max_size=12), st.integers(min_value=0, max_value=250))
def test_any_number_reads_the_same(texts: list[str], place: int) -> None:
    rows = PLAIN.splitlines(keepends=True)
    for k, text in enumerate(texts):
        rows[place + k] = f"{rows[place + k].partition(',')[0]},{text}\n"
    same(HEAD + "".join(rows))


def test_pieces_of_any_size_give_the_same() -> None:
    data = (HEAD + PLAIN.replace("20.5", "20,5")).encode()
    whole = items(data, fast=True)
    for size in (1, 7, 64, 1000):
        parser = DelimitedParser()
        found = [
            item for k in range(0, len(data), size) for item in parser.feed_blocks(data[k : k + size])
        ] + list(parser.close_blocks())
        rows = sum(len(item.lines) for item in found if isinstance(item, Rows))
        assert rows == sum(isinstance(item, Rows) for item in whole) == 296
        assert [item for item in found if isinstance(item, BadLine)] == [
            item for item in whole if isinstance(item, BadLine)
        ]
