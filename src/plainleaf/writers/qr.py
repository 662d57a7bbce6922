"""QR codes (ISO/IEC 18004) as vectors, and as pixels where a format has no vectors."""

from functools import lru_cache
from io import BytesIO

import png
from qrcode.constants import ERROR_CORRECT_M
from qrcode.main import QRCode

from plainleaf.errors import OutputProblem

QUIET_ZONE = 4
"""Light modules that the standard asks for on every side."""

MOST_BYTES = 62
"""What fits into version 4 at level M: 33 modules and the quiet zone, 0.58 mm each at 24 mm."""


_KEPT = 8
"""How many codes are kept drawn: a practice has few addresses, and its letters share them."""

Square = tuple[tuple[bool, ...], ...]


@lru_cache(maxsize=_KEPT)
def modules(payload: str) -> Square:
    """The square of dark modules, quiet zone included. Raises OutputProblem if it is too long.

    The mask is fixed, so that the same payload always gives the same picture.
    """
    if len(payload.encode()) > MOST_BYTES:
        raise OutputProblem(
            f"The address '{payload[:40]}…' is too long for a code that telephones read well.",
            "Its squares would be too small on paper.",
            f"Use an address of at most {MOST_BYTES} characters in practice.toml.",
        )
    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET_ZONE, mask_pattern=2)
    code.add_data(payload, optimize=0)
    code.make(fit=True)
    return tuple(tuple(map(bool, row)) for row in code.get_matrix())


@lru_cache(maxsize=_KEPT)
def svg(payload: str) -> str:
    """The code as one SVG path on a white ground, one unit a module."""
    square = modules(payload)
    path = "".join(
        f"M{x} {y}h{width}v1h-{width}z" for y, row in enumerate(square) for x, width in _runs(row)
    )
    side = len(square)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}"'
        ' shape-rendering="crispEdges">'
        f'<path fill="#fff" d="M0 0h{side}v{side}h-{side}z"/><path d="{path}"/></svg>'
    )


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for x, dark in enumerate(row):
        if dark and x and row[x - 1]:
            start, width = found[-1]
            found[-1] = (start, width + 1)
        elif dark:
            found.append((x, 1))
    return found


@lru_cache(maxsize=_KEPT)
def png_picture(payload: str, scale: int = 12) -> bytes:
    """The code as a PNG picture of one bit a pixel, ``scale`` pixels a module."""
    square = modules(payload)
    rows = [
        [not dark for dark in row for _ in range(scale)] for row in square for _ in range(scale)
    ]
    stream = BytesIO()
    png.Writer(len(rows), len(rows), greyscale=True, bitdepth=1).write(stream, rows)
    return stream.getvalue()
