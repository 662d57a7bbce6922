"""The people chart as vectors: icons of one shape, told apart by how they are filled."""

from functools import lru_cache

import typst

from plainleaf.papers.blocks import Fill, PeopleChart

PITCH = 10
"""Units from one icon to the next; an icon is a circle of radius four."""

_KEPT = 32
"""How many drawings are kept: papers share few charts and four icons, which take long to draw."""

_INK, _GREY = "#1b2725", "#6b8f80"
_FILLS: dict[Fill, str] = {
    "solid": f'<circle r="4" fill="{_INK}"/>',
    "shaded": f'<circle r="3.6" fill="{_GREY}" stroke="{_INK}" stroke-width=".7"/>',
    "crossed": (
        f'<circle r="3.6" fill="#fff" stroke="{_INK}" stroke-width=".7"/>'
        f'<path d="M-2 -2L2 2M-2 2L2 -2" stroke="{_INK}" stroke-width="1.2"/>'
    ),
    "open": f'<circle r="3.6" fill="#fff" stroke="{_INK}" stroke-width=".7"/>',
}


def _icon(fill: Fill, x: int, y: int) -> str:
    half = PITCH // 2
    return f'<g transform="translate({x * PITCH + half} {y * PITCH + half})">{_FILLS[fill]}</g>'


def _framed(icons: str, columns: int, rows: int) -> str:
    width, height = columns * PITCH, rows * PITCH
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"'
        f' width="{width}" height="{height}">{icons}</svg>'
    )


@lru_cache(maxsize=_KEPT)
def svg(chart: PeopleChart) -> str:
    """The chart as SVG: the parts one after the other, row by row from the first corner."""
    fills = [part.fill for part in chart.parts for _ in range(part.count)]
    places = (divmod(number, chart.columns) for number in range(chart.total))
    icons = "".join(_icon(fill, x, y) for fill, (y, x) in zip(fills, places, strict=True))
    return _framed(icons, chart.columns, -(-chart.total // chart.columns))


def key(fill: Fill) -> str:
    """One icon, for the legend."""
    return _framed(_icon(fill, 0, 0), 1, 1)


@lru_cache(maxsize=_KEPT)
def png(drawing: str, width: int) -> bytes:
    """A drawing as a picture of pixels, for formats whose older readers know no vectors.

    ``width`` is in points of the page; there are four pixels to a point.
    """
    source = (
        f"#set page(width: {width}pt, height: auto, margin: 0pt)\n"
        '#image(bytes(sys.inputs.drawing), format: "svg", width: 100%)'
    )
    return typst.compile(
        source.encode(),
        format="png",
        ppi=288,
        sys_inputs={"drawing": drawing},
        ignore_system_fonts=True,
    )
