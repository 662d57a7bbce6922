"""A paper made again: the same bytes when all that decides them is the same, else what changed."""

from dataclasses import dataclass
from pathlib import Path

from plainleaf.desk.acts import Desk, alone, format_of, log, put
from plainleaf.errors import ChangedProblem
from plainleaf.office.visits import Visit
from plainleaf.papers.code import differing, read

_COVERS = {
    "wording": "the wording (text, translation, look or program)",
    "figures": "the figures (a number, its source or an expert position)",
    "facts": "the facts (the day, the language, the visit, large print or your settings)",
}
_WHY = "What would be made now is not what was handed out, and must not pass for it."
_SAME_FACTS = (
    "Give the day ('--date', it stands beside the code), language, visit and settings of that time"
)
_KEPT = "Take the copy that you kept"
_ANYWAY = "or write the paper as it is now with '--anyway'."


@dataclass(frozen=True)
class Asked:
    """The paper that is asked for, with the facts that it was made of."""

    paper: str
    visit: Visit | None = None
    language: str = ""
    large_print: bool = False
    beside: str = ""


@dataclass(frozen=True)
class Again:
    """What was written, its code, the code asked for, and the groups in which they differ."""

    file: Path
    code: str
    before: str
    changed: tuple[str, ...]


def again(
    desk: Desk, code: str, asked: Asked, out: Path, file_format: str = "", anyway: bool = False
) -> Again:
    """Make a paper again from what is there now, and write it if its code is the same.

    The bytes are those of a paper in a file of its own (a page of a day's print file is the same
    page). Raises PaperProblem for a mistyped code, ChangedProblem naming the groups that changed
    unless the paper is wanted ``anyway``; then nothing is written.
    """
    before = read(code)
    writer = format_of(out, file_format)
    page = desk.page_or_both(
        asked.paper, asked.visit, asked.language, asked.large_print, asked.beside
    )
    changed = differing(before, page.code)
    log.debug("compared with %s: %s", before, ", ".join(changed) or "the same")
    if changed and not anyway:
        raise _changed(before, page.code, changed)
    return Again(put(out, alone(page, asked.visit, writer)), page.code, before, changed)


def _changed(before: str, now: str, changed: tuple[str, ...]) -> ChangedProblem:
    what = " and ".join(_COVERS[name] for name in changed)
    # Another language or country changes the other groups as well: the facts come first.
    first = _SAME_FACTS if "facts" in changed else _KEPT
    return ChangedProblem(
        f"The paper is not that of {before} any more, but {now}: {what} changed.",
        _WHY,
        f"{first}, {_ANYWAY}",
    )
