"""Is a campaign folder in order: problems, open questions, doubts, and whether signed sheets still stand."""

from dataclasses import dataclass
from pathlib import Path

from headrace.errors import Problem
from headrace.files.folder import gather
from headrace.files.signed import signed_sheets, standing
from headrace.notices import Notice, merged
from headrace.records.given import Campaign


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What `check` found.

    problems: must be mended before anything is computed. questions: what drafted runs leave open;
    such runs are not used.
    notices: doubts of the folder (questions and signed sheets among them). campaign: None while a problem stands.
    """

    problems: tuple[Problem, ...]
    questions: tuple[Problem, ...]
    notices: tuple[Notice, ...]
    campaign: Campaign | None


def check(folder: Path | str) -> Checked:
    """Read a folder as far as it goes, every byte hashed; raises nothing for what is in it."""
    gathered = gather(folder, believe=False)
    sheets, faults = signed_sheets(folder)
    notices = merged(gathered.notices, standing(folder, sheets, gathered.inputs))
    return Checked(
        problems=(*gathered.problems, *faults),
        questions=gathered.questions,
        notices=notices,
        campaign=None if faults else gathered.campaign,
    )
