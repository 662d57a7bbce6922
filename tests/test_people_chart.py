"""The people chart: one icon for each person, told apart without color, in every format."""

import zipfile
from io import BytesIO
from itertools import pairwise
from typing import get_args
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from conftest import LANGUAGES
from plainleaf.desk import Desk, write
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import ChartPart, Fill, PeopleChart, walk
from plainleaf.writers import chart
from test_writers import document_xml, page


def people(desk: Desk, visits: dict[str, Visit], tag: str) -> PeopleChart:
    blocks = walk(page(desk, visits, "introduction", tag).blocks)
    return next(one for one in blocks if isinstance(one, PeopleChart))


def icons(root: ElementTree.Element) -> list[str]:
    """How each icon of a drawing is filled, read from the drawing alone."""
    svg_name = "{http://www.w3.org/2000/svg}"
    found = []
    for group in root.iter(f"{svg_name}g"):
        circle = group.find(f"{svg_name}circle")
        assert circle is not None
        crossed = group.find(f"{svg_name}path") is not None
        found.append("crossed" if crossed else circle.attrib["fill"])
    return found


def test_the_drawing_has_one_icon_for_each_person(desk: Desk, visits: dict[str, Visit]) -> None:
    drawn = icons(ElementTree.fromstring(chart.svg(people(desk, visits, "en"))))
    assert len(drawn) == 100
    counts = {fill: drawn.count(fill) for fill in drawn}
    assert list(counts.values()) == [1, 31, 1, 67]
    assert len(counts) == 4, "four ways to fill, and not by color alone: one of them is a cross"


@given(st.lists(st.integers(0, 100), min_size=4, max_size=4).filter(lambda n: 0 < sum(n) <= 1000))
def test_any_chart_draws_exactly_its_counts(counts: list[int]) -> None:
    fills = get_args(Fill)
    parts = tuple(ChartPart(n, fill, ()) for n, fill in zip(counts, fills, strict=True))
    drawn = icons(ElementTree.fromstring(chart.svg(PeopleChart(parts, 40, "x"))))
    assert len(drawn) == sum(counts)
    assert drawn.count("crossed") == counts[fills.index("crossed")]


def test_the_chart_is_told_apart_without_color(desk: Desk, visits: dict[str, Visit]) -> None:
    # WCAG 2.2, 1.4.1 and 1.4.11: the greys of the four icons, as a grey printer would print them.
    greys = {}
    for part in people(desk, visits, "en").parts:
        picture = Image.open(BytesIO(chart.png(chart.key(part.fill), 20))).convert("L")
        greys[part.fill] = sum(picture.tobytes()) / len(picture.tobytes())
    ordered = sorted(greys.values())
    assert all(second - first > 12 for first, second in pairwise(ordered)), greys


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_chart_is_in_every_format_with_its_words(
    tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    made = page(desk, visits, "introduction", tag)
    alt = people(desk, visits, tag).alt
    web = write([made], "html").decode()
    assert f'aria-label="{alt}"' in web
    word = write([made], "docx")
    root = document_xml(word)
    assert alt in [e.attrib.get("descr") for e in root.iter() if e.tag.endswith("}docPr")]
    with zipfile.ZipFile(BytesIO(word)) as archive:
        drawings = [archive.read(n) for n in archive.namelist() if n.endswith(".svg")]
        types = archive.read("[Content_Types].xml").decode()
    # The four icons of the legend, the chart, and the QR code, which is one path without icons.
    assert sorted(len(icons(ElementTree.fromstring(one))) for one in drawings) == [0] + [1] * 4 + [
        100
    ]
    assert "image/svg+xml" in types
    blips = [e for e in root.iter() if e.tag.endswith("}svgBlip")]
    assert len(blips) == 6
    assert "67" in write([made], "txt").decode()
