"""Sheets of cards in pixels and millimetres: where ink is, where marks are, what cutting gives."""

from itertools import pairwise
from typing import NamedTuple

import pypdfium2
from PIL import Image, ImageOps

DPI = 200
INCH = 25.4


class Box(NamedTuple):
    """A part of a sheet in millimetres from its top left corner."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    def inside(self, margin: float) -> "Box":
        return Box(self.left + margin, self.top + margin, self.right - margin, self.bottom - margin)

    def holds(self, other: "Box") -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and other.right <= self.right
            and other.bottom <= self.bottom
        )


def sheets(content: bytes, dots_per_inch: int = DPI) -> list[Image.Image]:
    return [
        page.render(scale=dots_per_inch / 72).to_pil().convert("L")
        for page in pypdfium2.PdfDocument(content)
    ]


def crop(sheet: Image.Image, box: Box) -> Image.Image:
    left, top, right, bottom = (round(edge * DPI / INCH) for edge in box)
    return sheet.crop((left, top, right, bottom))


def ink(image: Image.Image) -> Box | None:
    """The smallest box around everything that is not white, or None on a blank sheet."""
    found = ImageOps.invert(image).point(lambda value: 255 if value > 25 else 0).getbbox()
    return Box(*(edge * INCH / DPI for edge in found)) if found else None


def marks(sheet: Image.Image, strip: float) -> list[float]:
    """How far down the sheet the strokes in a strip at its left edge stand, in millimetres."""
    part = crop(sheet, Box(0, 0, strip, sheet.height * INCH / DPI))
    pixels, wide = part.tobytes(), part.width
    rows = [y for y in range(part.height) if min(pixels[y * wide : (y + 1) * wide]) < 200]
    groups: list[list[int]] = []
    for y in rows:
        if groups and y - groups[-1][-1] <= 2:
            groups[-1].append(y)
        else:
            groups.append([y])
    # A stroke along the strip is not one across it, and has many rows.
    strokes = [group for group in groups if len(group) * INCH / DPI < 0.8]
    return [(group[0] + group[-1] + 1) / 2 * INCH / DPI for group in strokes]


def cut(sheet: Image.Image, beside: float, above: float) -> list[Box]:
    """The cards that one gets by cutting along the marks, column by column."""
    down = marks(sheet, beside)
    across = marks(sheet.transpose(Image.Transpose.TRANSPOSE), above)
    edges = [0.0, sheet.width * INCH / DPI]
    if len(across) == 1:
        # The cards are as wide as the sheet: its own edges are the outer cuts.
        across = [edges[0], *across, edges[1]]
    if len(down) == 1:
        down = [0.0, *down, sheet.height * INCH / DPI]
    return [
        Box(left, top, right, bottom)
        for left, right in pairwise(across)
        for top, bottom in pairwise(down)
    ]


def post(sheet: Image.Image) -> list[Box]:
    return cut(sheet, beside=8.4, above=8.4)


def wallet(sheet: Image.Image) -> list[Box]:
    return cut(sheet, beside=19, above=36)
