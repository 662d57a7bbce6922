"""Whether two pieces of text on a printed page run over each other."""

import pypdfium2
import pypdfium2.raw as raw

Box = tuple[float, float, float, float]


def overlaps(document: pypdfium2.PdfDocument, joined: bool = False) -> list[tuple[int, Box, Box]]:
    """Pairs of pieces of text that cover the same place, with the number of their page.

    Letters of one line may touch and accents reach into the line above, so only an overlap counts
    that is wider than two points and higher than half of the lower piece. In ``joined`` scripts,
    such as Arabic, the pieces of a word lie over each other by more, the larger the letters.
    """
    least = 40 if joined else 2
    found = []
    for number, page in enumerate(document):
        boxes = sorted(
            one.get_bounds() for one in page.get_objects([raw.FPDF_PAGEOBJ_TEXT], max_depth=5)
        )
        found += [(number, a, b) for a, b in _pairs(boxes) if _over(a, b, least)]
    return found


def _pairs(boxes: list[Box]) -> list[tuple[Box, Box]]:
    """Boxes whose widths overlap: each with those that begin before it ends."""
    pairs = []
    for place, one in enumerate(boxes):
        for other in boxes[place + 1 :]:
            if other[0] >= one[2]:
                break
            pairs.append((one, other))
    return pairs


def _over(a: Box, b: Box, least: float) -> bool:
    width = min(a[2], b[2]) - max(a[0], b[0])
    height = min(a[3], b[3]) - max(a[1], b[1])
    return width > least and height > 0.5 * min(a[3] - a[1], b[3] - b[1])
