"""Window envelopes: where an address may stand on a sheet, and what else the window can see.

A folded letter moves inside its envelope, by as much as the envelope is larger than the folded
sheet. Some part of the sheet shows wherever the letter lies; a larger part can come to show. An
address stands in the first, and nothing but the address in the second (rule PR-16). All lengths
are millimetres, from the top left corner of the sheet; a fold has its distance from the top.

DIN 5008 and DIN 680: the fields, folds and hole mark are from three printed summaries (PG-12); the
window of the DL envelope is from memory (PG-13). USPS Publication 25, 3-9: an eighth of an inch
clear around the address wherever the letter lies (PG-07); the #10 envelope and the place of its
window from a trade page, the size of its window from memory (PG-08).
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import Page

INCH = 25.4
CLEAR = INCH / 8
"""What must stay white between the address and the edges of the window (PG-07)."""

ABOVE, BELOW = 1.0, 3.0
"""How far from the window's reach the letterhead ends and the text begins; our own choice."""


@dataclass(frozen=True)
class Rect:
    """A rectangle on the sheet."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Envelope:
    """An envelope and its window, seen from the front, and the letter folded to fit it.

    The part of the sheet above the first fold is the one that shows. It stands on the bottom of
    the folded letter, which is as high as its highest part: ``folded``.
    """

    width: float
    height: float
    window_width: float
    window_height: float
    window_left: float
    window_bottom: float
    sheet_width: float
    folds: tuple[float, float]
    folded: float
    text_left: float
    hole: float = 0
    head: float = 14

    def window(self, right: float, up: float) -> Rect:
        """What shows when the letter lies so far from the envelope's left side and bottom."""
        bottom = self.folds[0] + up - self.window_bottom
        return Rect(
            self.window_left - right,
            bottom - self.window_height,
            self.window_width,
            self.window_height,
        )

    @property
    def swept(self) -> Rect:
        """All that can come to show as the letter moves."""
        across, along = self.width - self.sheet_width, self.height - self.folded
        low, high = self.window(across, 0), self.window(0, along)
        left = max(low.x, 0)
        return Rect(left, low.y, high.x + high.width - left, high.y + high.height - low.y)

    @property
    def clear(self) -> Rect:
        """Where an address may stand: it shows wherever the letter lies, well inside the edges."""
        across, along = self.width - self.sheet_width, self.height - self.folded
        left = max(self.window_left + CLEAR, self.text_left)
        right = self.window_left - across + self.window_width - CLEAR
        top = self.window(0, along).y + CLEAR
        bottom = self.window(0, 0).y + self.window_height - CLEAR
        return Rect(left, top, right - left, bottom - top)


def _din(first: float, second: float, head: float) -> Envelope:
    """A4 in a DL envelope. The text begins 25 mm from the left; of three parts two are 105 mm."""
    return Envelope(220, 110, 90, 45, 20, 15, 210, (first, second), 105, 25, 148.5, head)


# In equal thirds a letter sheet leaves two lines for an address. Folded a little lower it leaves
# four; the second part is as high as the first, so that one mark is enough to fold by (PG-09).
_PART = 3.9

ENVELOPES = {
    "DIN 5008 A": _din(87, 192, 8),
    "DIN 5008 B": _din(105, 210, 14),
    "#10": Envelope(
        9.5 * INCH,
        4.125 * INCH,
        4.5 * INCH,
        1.125 * INCH,
        0.875 * INCH,
        0.5 * INCH,
        8.5 * INCH,
        (_PART * INCH, 2 * _PART * INCH),
        _PART * INCH,
        # A little more than the inch that is clear: a letter may hang out to the left of its line.
        26,
    ),
}


def places(page: Page) -> dict[str, object] | None:
    """Where the layout sets address, letterhead, text and marks; None for a paper handed out."""
    if not page.address:
        return None
    one = ENVELOPES[page.envelope]
    return {
        "clear": asdict(one.clear),
        "head": one.head,
        "head_end": one.swept.y - ABOVE,
        "text": one.swept.y + one.swept.height + BELOW,
        "folds": one.folds,
        "hole": one.hole,
    }


def explained(error: str, pages: Sequence[Page]) -> PaperProblem | None:
    """The problem behind a message of the layout about a posted letter; None for other messages."""
    name = max(page.envelope for page in pages)
    if "address does not fit" in error:
        return PaperProblem(
            f"An address has too many lines, or too long ones, for the window of '{name}'.",
            "A line that cannot be read in the window may send the letter to somebody else.",
            "Shorten the address, or take 'post' out of practice.toml and use a plain envelope.",
        )
    if "letterhead does not fit" in error:
        return PaperProblem(
            f"The practice's name and address are too long to stand above the window of '{name}'.",
            "They would show in the window beside the person's address.",
            "Shorten them in practice.toml, or choose another envelope there.",
        )
    return None
