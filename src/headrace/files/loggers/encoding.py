"""Which text encoding the first bytes of a logger file are in, and which bytes are no text at all.

A wrong guess changes only names and units: digits are the same in all encodings accepted here. Foreign formats and
pointer texts are refused by name. Start at `sniff_encoding`.
"""

import codecs
import re

from headrace.files.loggers.base import Unreadable

MAGIC: tuple[tuple[bytes, str, str], ...] = (
    (b"PK\x03\x04", "a zip archive or spreadsheet workbook", "save the sheet as delimited text"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook", "save the sheet as delimited text"),
    (b"TDSm", "a TDMS file", "export it as delimited text"),
    (b"\x1f\x8b", "a gzip file", "unpack it first"),
    (b"\x89HDF", "an HDF5 file", "export it as delimited text"),
    (b"SQLite format 3", "a database file", "export the table as delimited text"),
    (b"MATLAB 5.0 MAT-file", "a binary matrix file", "export it as delimited text"),
    (b"%PDF", "a PDF document", "ask for the data as delimited text"),
    (b"\x89PNG", "a picture", "ask for the data as delimited text"),
)
POINTER = re.compile(rb"\Aversion https?://\S+\s.*?\boid sha\d+:", re.DOTALL)
LINKED = re.compile(rb"\A\S*/annex/objects/\S+\s*\Z")
BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
CONTROL = bytes(set(range(32)) - set(b"\t\n\r\x0c\x1a")) + b"\x7f"


def refuse_foreign(head: bytes) -> None:
    """Raise `Unreadable` when the first bytes belong to something that is no table of text."""
    if not head.strip(b"\x00 \t\r\n\xff\xfe\xef\xbb\xbf"):
        raise Unreadable("the file is empty" if not head else "the file holds nothing but blanks")
    if (POINTER.match(head) or LINKED.match(head)) and len(head) < 4096:
        raise Unreadable(
            "a pointer text stands where the data should be", try_="fetch the real file from its store"
        )
    for magic, what, hint in MAGIC:
        if head.startswith(magic):
            raise Unreadable(f"this is {what}, not text", try_=hint)
    if re.match(rb"\s*<(!doctype|html|\?xml)", head, re.IGNORECASE):
        raise Unreadable("this is a web page or XML, not a table", try_="export the log as delimited text")


def sniff_encoding(head: bytes, *, whole: bool = False) -> str:
    """Name of the encoding of the first bytes.

    Args:
        head: First bytes of the file, some tens of kilobytes.
        whole: True when nothing follows, so that a cut character at the end is a damaged one.
    Returns:
        "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1" or "cp1252". Pure ASCII is "utf-8".
    Raises:
        Unreadable: empty, binary, or a known foreign format.

    >>> sniff_encoding(b"T (\\xb0C)\\n1\\n")
    'latin-1'
    """
    refuse_foreign(head)
    for bom, name in BOMS:
        if head.startswith(bom):
            return name
    wide = _wide(head)
    if wide:
        return wide
    if len(head.translate(None, CONTROL)) < 0.9 * len(head) and len(
        head.translate(None, b"\x00")
    ) > 0.95 * len(head):
        raise Unreadable("the bytes are binary, not text", try_="export the log as delimited text")
    if _mostly_nul(head):
        raise Unreadable("the bytes are binary, not text", try_="export the log as delimited text")
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head, final=whole)
    except UnicodeDecodeError:
        if any(0x80 <= byte < 0xA0 for byte in set(head)):
            return "cp1252"
        return "latin-1"
    return "utf-8"


def _wide(head: bytes) -> str | None:
    """UTF-16 without its mark: every other byte of plain text is NUL."""
    size = len(head) // 2
    if size < 2:
        return None
    even, odd = head[0 : 2 * size : 2].count(0) / size, head[1 : 2 * size : 2].count(0) / size
    if odd > 0.7 and even < 0.05:
        return "utf-16-le"
    if even > 0.7 and odd < 0.05:
        return "utf-16-be"
    return None


def _mostly_nul(head: bytes) -> bool:
    """Text that a power loss padded with NUL is still text; a block that is a third NUL between other bytes is not."""
    body = head.rstrip(b"\x00")
    return body.count(0) > 0.3 * max(len(body), 1)
