"""Front: the title, and whose sheet this is."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import call


def typst(sheet: SheetContent) -> str:
    """Title, or in its place the verdict where nothing is to be set; campaign, how the intervals were made."""
    answer = sheet.answer
    verdict = "No set points" if not sheet.has_set_points else "Do not set" if sheet.stopped else None
    return call(
        "title",
        verdict or "Tank pressures to set",
        sheet.campaign.name,
        [
            f"Injector {sheet.campaign.article.serial}",
            sheet.campaign.date.isoformat(),
            *_intervals(answer.draws, answer.lost),
        ],
        invented=sheet.campaign.invented,
        verdict=verdict is not None,
    )


def _intervals(draws: int, lost: int) -> list[str]:
    if not draws:
        return []
    gone = f", {lost} without an answer" if lost else ""
    return ["Monte Carlo, " + f"{draws:,}".replace(",", " ") + f" draws{gone}"]
