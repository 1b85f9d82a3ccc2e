"""What a spreadsheet file says beside its cells' values: its sheets, where they are stored, formulas, day of its zero.

The zip's own check sums are held against its bytes first, so a damaged file is refused and never read wrong. Start at
`Workbook.of`.
"""

import io
import posixpath
import re
import zipfile
import zlib
from dataclasses import dataclass
from xml.etree import ElementTree

from headrace.files.loggers.base import Unreadable

LARGEST = 1 << 30
"""Bytes of an unpacked sheet that no logger's workbook reaches; what claims more is refused, not unpacked."""

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
STRICT = "{http://purl.oclc.org/ooxml/spreadsheetml/main}"
LINKS = (
    "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id",
    "{http://purl.oclc.org/ooxml/officeDocument/relationships}id",
)
FORMULA = re.compile(
    rb"<c [^>]*?r=\"([A-Z]{1,3}\d+)\"[^>]*>\s*<f(?:\s[^>]*?)?(?:/>|>.*?</f>)\s*(<v)?", re.DOTALL
)
FAULT = re.compile(rb"<c [^>]*?r=\"([A-Z]{1,3}\d+)\"[^>]*? t=\"e\"")
CELL = re.compile(rb"<c [^>]*?r=\"([A-Z]{1,3})\d+\"")
FIRST = 1 << 18
SAVE_AS = "open it in a spreadsheet program and save it as .xlsx or as delimited text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Cells of a sheet that are more than a value: formulas, formulas that nobody computed, errors (by address)."""

    formulas: int
    empty: tuple[str, ...]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbook:
    """sheets: names with the place of their cells in the archive. from_1904: days count from 1904 and not 1900."""

    archive: zipfile.ZipFile
    sheets: dict[str, str]
    from_1904: bool

    @classmethod
    def of(cls, data: bytes) -> "Workbook":
        """The workbook in these bytes.

        Raises:
            Unreadable: damaged, locked by a password, of another kind.
        """
        try:
            archive = zipfile.ZipFile(io.BytesIO(data))
            if sum(item.file_size for item in archive.infolist()) > LARGEST:
                raise Unreadable(
                    "the workbook unpacks to more than a gigabyte", try_="export the one sheet as text"
                )
            damaged = archive.testzip()
            if damaged is not None:
                raise Unreadable(f"the workbook is damaged: its part {damaged} fails its own check sum",
                                 try_="copy the file again")  # fmt: skip
            if "xl/workbook.xml" not in archive.namelist():
                raise Unreadable("this is a packed archive and no .xlsx workbook", try_=SAVE_AS)
            sheets, from_1904 = _index(archive)
            return cls(archive=archive, sheets=sheets, from_1904=from_1904)
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, KeyError, ValueError, IndexError,
                NotImplementedError, RuntimeError, OverflowError, ElementTree.ParseError) as fault:  # fmt: skip
            raise Unreadable(
                f"the workbook is damaged or cut short ({_said(fault)})", try_="copy the file again"
            ) from None

    def marks(self, sheet: str) -> Marks:
        """Formulas and errors of one sheet."""
        cells = self.archive.read(self.sheets[sheet])
        formulas = FORMULA.findall(cells) if b"<f" in cells else []
        faults = FAULT.findall(cells) if b't="e"' in cells else []
        return Marks(
            formulas=len(formulas),
            empty=tuple(place.decode() for place, value in formulas if not value),
            faults=tuple(place.decode() for place in faults),
        )

    def first_column(self, sheet: str) -> int:
        """Number of the first used column of a sheet, A = 0, as far as its first cells tell."""
        cells = self.archive.read(self.sheets[sheet])[:FIRST]
        return min((_number(name) for name in CELL.findall(cells)), default=0)


def letters(column: int) -> str:
    """Name of a column by its number from 0.

    >>> letters(0), letters(25), letters(26)
    ('A', 'Z', 'AA')
    """
    whole, rest = divmod(column, 26)
    return (letters(whole - 1) if whole else "") + chr(ord("A") + rest)


def _number(name: bytes) -> int:
    out = 0
    for sign in name:
        out = out * 26 + sign - ord("A") + 1
    return out - 1


def _said(fault: Exception) -> str:
    return str(fault).split("\n")[0][:80] or type(fault).__name__


def _index(archive: zipfile.ZipFile) -> tuple[dict[str, str], bool]:
    book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
    links = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id"): link.get("Target") or "" for link in links}
    sheets: dict[str, str] = {}
    for sheet in (*book.iter(MAIN + "sheet"), *book.iter(STRICT + "sheet")):
        target = targets.get(next((sheet.get(key) for key in LINKS if sheet.get(key)), None), "")
        path = target.lstrip("/") if target.startswith("/") else posixpath.normpath(f"xl/{target}")
        if path in archive.namelist() and "worksheets" in path:
            sheets[sheet.get("name") or ""] = path
    dates = (*book.iter(MAIN + "workbookPr"), *book.iter(STRICT + "workbookPr"))
    from_1904 = any(one.get("date1904") in ("1", "true", "on") for one in dates)
    return sheets, from_1904
