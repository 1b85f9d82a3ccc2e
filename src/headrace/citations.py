"""The sources headrace leans on: one `Citation` each, so that a report names edition and clause the same way."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """A source and how we know it: "seen" (read), "computed" (by the named library), "memory", "common practice"."""

    title: str
    known: str

    def __str__(self) -> str:
        return self.title if self.known == "seen" else f"{self.title} ({self.known})"


COMMON_PRACTICE = Citation(title="common practice", known="common practice")
