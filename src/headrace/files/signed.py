"""Sheets as they were signed: the PDF and, beside it, who signed and the hash of every file that it rests on.

`keep` writes a pair under signed/; `standing` says whether what a sheet rests on is still the same. The JSON is written
last, so that a PDF without one is no signed sheet.
"""

import datetime
import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from headrace import __version__
from headrace.errors import InputError, Problem
from headrace.files.plain import plain
from headrace.files.write import write_bytes, write_text
from headrace.notices import Notice, Severity

HOME = "signed"
LONGEST = 60  # letters of a name in a file name
KEYS = ("sheet", "sha256", "signed_by", "date", "inputs")


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """One signed sheet. sheet: name of the PDF under signed/; inputs: sha256 by path of all that it rests on.

    date: of the signature; at: its date and time, ISO 8601 with the offset ("" in a record without a time).
    campaign_date: the date that the campaign carries.
    """

    sheet: str
    sha256: str
    signed_by: str
    date: datetime.date
    inputs: Mapping[str, str]
    at: str = ""
    campaign_date: str = ""

    @property
    def when(self) -> str:
        """The moment of the signature in words."""
        return spoken(datetime.datetime.fromisoformat(self.at)) if self.at else self.date.isoformat()


def spoken(at: datetime.datetime) -> str:
    """A moment as people read it.

    >>> spoken(datetime.datetime(2026, 3, 14, 9, 5, tzinfo=datetime.UTC))
    '2026-03-14 09:05 UTC'
    """
    return f"{at:%Y-%m-%d %H:%M} {at.tzname() or ''}".strip()


def keep(
    folder: Path | str,
    *,
    pdf: bytes,
    signed_by: str,
    at: datetime.datetime,
    campaign_date: datetime.date,
    inputs: Mapping[str, str],
    request: Mapping[str, float | None] | None = None,
) -> Signed:
    """Keep a sheet as signed; earlier ones stay.

    Args:
        folder: the campaign. pdf: the sheet's bytes. signed_by: name.
        at: the moment of the signature. campaign_date: the date that the campaign carries.
        inputs: `Campaign.inputs` of the campaign that the sheet was made from.
        request: what was asked of the engine, by dotted path [SI]; kept for the record.
    Raises:
        InputError: no name.
    """
    if not signed_by.strip():
        raise InputError(
            (Problem(file="", line=None, key="sign", found="no name", expected="who signs", try_=""),)
        )
    home = Path(folder) / HOME
    name = re.sub(r"[^A-Za-z0-9]+", "-", signed_by)[:LONGEST].strip("-") or "signed"
    stem = f"{at.astimezone(datetime.UTC):%Y-%m-%d-%H%MZ}-{name}"
    number = 1
    while any((home / f"{stem}-{number}{end}").exists() for end in (".pdf", ".json")):
        number += 1
    sheet = Signed(sheet=f"{stem}-{number}.pdf", sha256=hashlib.sha256(pdf).hexdigest(), signed_by=signed_by.strip(),
                   date=at.date(), at=at.isoformat(timespec="seconds"), campaign_date=campaign_date.isoformat(),
                   inputs=dict(inputs))  # fmt: skip
    write_bytes(home / sheet.sheet, pdf)
    data = {"sheet": sheet.sheet, "sha256": sheet.sha256, "signed_by": sheet.signed_by,
            "date": sheet.date.isoformat(), "signed_at": sheet.at, "campaign_date": sheet.campaign_date,
            "request": dict(request or {}), "headrace": __version__,
            "inputs": dict(sorted(inputs.items()))}  # fmt: skip
    write_text(home / f"{stem}-{number}.json", json.dumps(data, indent=1, ensure_ascii=False) + "\n")
    return sheet


def signed_sheets(folder: Path | str) -> tuple[tuple[Signed, ...], tuple[Problem, ...]]:
    """All signed sheets of a campaign, and what is wrong with the files that tell of them."""
    sheets: list[Signed] = []
    problems: list[Problem] = []
    for path in sorted((Path(folder) / HOME).glob("*.json")):
        if path.name.startswith("."):
            continue
        try:
            sheets.append(_signed(json.loads(plain(path).read_text(encoding="utf-8"))))
        except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
            problems.append(Problem(
                file=f"{HOME}/{path.name}", line=None, key="", found=f"no record of a signed sheet ({error})",
                expected=f"JSON with {', '.join(KEYS)}, as `sheet --sign` wrote it",
                try_="bring the original back; signed records are never edited",
            ))  # fmt: skip
    return tuple(sheets), tuple(problems)


def _signed(data: Any) -> Signed:
    inputs = data["inputs"]
    if not isinstance(inputs, dict) or not all(isinstance(one, str) for one in inputs.values()):
        raise ValueError("inputs")
    return Signed(sheet=str(data["sheet"]), sha256=str(data.get("sha256", "")), signed_by=str(data["signed_by"]),
                  date=datetime.date.fromisoformat(data["date"]), inputs=inputs, at=_moment(data.get("signed_at")),
                  campaign_date=str(data.get("campaign_date", "")))  # fmt: skip


def _moment(text: object) -> str:
    """An ISO moment, or "" for none; ValueError for what is neither."""
    return datetime.datetime.fromisoformat(str(text)).isoformat() if text else ""


def clock_back(folder: Path | str, at: datetime.datetime) -> Notice | None:
    """A doubt where a signature would be earlier than one that is there: a clock was set back, or was ahead."""
    sheets, _ = signed_sheets(folder)
    moments = [(moment, one.sheet) for one in sheets if (moment := _told(one)) is not None and moment > at]
    if not moments:
        return None
    last, sheet = max(moments)
    return Notice(
        code="signed-clock-back", severity=Severity.DOUBT, about="signature",
        text=f"The clock says {spoken(at)}, but {HOME}/{sheet} was signed at {spoken(last)}.",
        limit="the last signature", try_="set the clock of this machine, and sign again",
    )  # fmt: skip


def _told(sheet: Signed) -> datetime.datetime | None:
    """The moment of a signature, where its record says one with its offset."""
    moment = datetime.datetime.fromisoformat(sheet.at) if sheet.at else None
    return moment if moment is not None and moment.tzinfo is not None else None


def standing(folder: Path | str, sheets: tuple[Signed, ...], inputs: Mapping[str, str]) -> Iterator[Notice]:
    """What has changed since each sheet was signed. inputs: sha256 of the campaign's files as they are now."""
    for sheet in sheets:
        who = f"{HOME}/{sheet.sheet}, signed by {sheet.signed_by} on {sheet.when}"
        gone = [name for name in sheet.inputs if name not in inputs]
        changed = [name for name, sha256 in sheet.inputs.items() if name in inputs and inputs[name] != sha256]
        if gone or changed:
            said = [*(f"{name} (changed)" for name in changed), *(f"{name} (gone)" for name in gone)]
            yield Notice(
                code="signed-inputs-changed", severity=Severity.STOP, about=sheet.sheet,
                text=f"{who}, rests on files that are not the same any more: {', '.join(said)}.",
                limit="the hashes kept at signing", try_="make and sign a new sheet, or put the files back",
            )  # fmt: skip
        added = [name for name in inputs if name not in sheet.inputs]
        if added:
            yield Notice(
                code="signed-inputs-added", severity=Severity.DOUBT, about=sheet.sheet,
                text=f"{who}, knows nothing of {', '.join(added)}.", limit="the files listed at signing",
                try_="see whether a new sheet says the same",
            )  # fmt: skip
        path = Path(folder) / HOME / sheet.sheet
        now = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "gone"
        if sheet.sha256 and now != sheet.sha256:
            yield Notice(
                code="signed-sheet-changed", severity=Severity.STOP, about=sheet.sheet,
                text=f"{who}: the PDF is {'gone' if now == 'gone' else 'not the one that was signed'}.",
                limit="the hash kept at signing", try_="put the signed PDF back",
            )  # fmt: skip
    known = {sheet.sheet for sheet in sheets}
    for path in sorted((Path(folder) / HOME).glob("*.pdf")):
        if path.name not in known and not path.name.startswith("."):
            yield Notice(
                code="signed-without-record", severity=Severity.DOUBT, about=path.name,
                text=f"{HOME}/{path.name} has no record beside it: whether what it rests on changed cannot be told.",
                limit="a record beside each signed sheet", try_="sign a new sheet, and take this one away",
            )  # fmt: skip
