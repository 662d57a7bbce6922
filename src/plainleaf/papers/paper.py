"""What is declared of a paper: when it is handed over, who reads it, what it must contain."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from plainleaf.papers.blocks import CardSize

Shape = Literal["sheet", "form", "card", "message"]


@dataclass(frozen=True)
class Element:
    """A part that a finished page must contain, and the rules that ask for it."""

    name: str
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Paper:
    """One paper. ``needs`` names the facts without which it is not made, in plain words.

    ``most_pages`` is the most pages it may take in normal print; 0 means no limit.
    ``exposed`` papers may be seen by anybody and carry no health words. A ``brief`` paper has no
    room for a notice on a draft translation; whoever sends it is told instead. The reader of a
    paper ``for_team`` works in the practice, or is a colleague: it is made in the practice's first
    language unless another is asked for. A ``posted`` paper carries the person's address for a
    window envelope when the practice has set one. By ``review_by`` a clinician must have read the
    wording of a form again. ``formats`` are those of ``make``, and ``eml`` and ``csv`` those of
    ``remind``. Every paper is made in every language that has all its texts.
    """

    id: str
    moment: str
    reader: str
    shape: Shape
    elements: tuple[Element, ...]
    needs: tuple[str, ...] = ()
    exposed: bool = False
    signed: bool = False
    most_pages: int = 0
    brief: bool = False
    for_team: bool = False
    posted: bool = False
    version: str = "1"
    card: CardSize = "post"
    review_by: date = date(2027, 11, 30)
    formats: tuple[str, ...] = ("pdf", "docx", "html", "txt")

    @property
    def offers_help(self) -> bool:
        """Whether the practice's offer of help in other languages goes with it, once it is set."""
        return self.shape == "form" and self.signed and not self.for_team


def elements(**rules: str) -> tuple[Element, ...]:
    """Elements from ``name="rule ids"``; underscores in a name stand for hyphens."""
    return tuple(Element(name.replace("_", "-"), tuple(ids.split())) for name, ids in rules.items())
