"""DOCX read again with python-docx: words, styles, sections and pictures are those of the pages."""

import zipfile
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
from docx import Document
from docx.shared import Mm, Pt
from hypothesis import given
from hypothesis import strategies as st

from conftest import LANGUAGES, PAPERS, suited
from plainleaf.desk import Desk, write
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Block,
    Choices,
    Code,
    Field,
    Fields,
    Heading,
    Isolate,
    Labels,
    Link,
    Page,
    Paragraph,
    Section,
    Strong,
    Text,
)

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
R = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
MARKUP = "A & B <w:t> \"double\" 'single' ]]> &amp; {page} {{ x }}"


def opened(pages: list[Page]) -> Any:
    return Document(BytesIO(write(pages, "docx")))


def bare(*blocks: Block, foot: str = "foot") -> Page:
    """A page of these blocks in English and nothing else."""
    return Page(
        paper="bare",
        title="bare",
        language="en",
        direction="ltr",
        script="Latn",
        shape="sheet",
        paper_size="a4",
        large_print=False,
        letterhead=((Isolate("Practice"),),),
        blocks=blocks,
        sources=(),
        foot=(Text(foot),),
        labels=Labels("Sources", "page {page} of {pages}", "source", "empty", f"tick {MARKUP}"),
        day="2026-11-25",
    )


# ---- words -----------------------------------------------------------------------------------


@given(st.text(st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn")), min_size=1))
def test_any_words_come_out_as_they_went_in(words: str) -> None:
    inside = Paragraph((Text(words), Strong((Isolate(words),)), Text(words)))
    document = opened([bare(inside, foot=words)])
    assert document.paragraphs[1].text == 3 * words
    assert document.paragraphs[1].runs[1].bold
    assert document.sections[0].footer.paragraphs[0].text.startswith(f"{words} · page\u00a0")


def test_tabs_and_line_ends_are_those_of_word() -> None:
    document = opened([bare(Paragraph((Text("a\tb\nc\rd"),)))])
    assert document.paragraphs[1].text == "a\tb\nc\nd"
    assert len(document.element.findall(f".//{W}br")) == 2


def test_markup_in_titles_links_and_descriptions_stays_words() -> None:
    link = Link((Text(MARKUP),), f"https://example.org/?q={MARKUP}")
    code = Code("https://example.org", f"code {MARKUP}", (Text(MARKUP),))
    made = bare(Heading((Text(MARKUP), link), 1), code, Choices(((Text(MARKUP),),)))
    document = opened([replace(made, title=MARKUP)])
    assert document.core_properties.title == MARKUP
    texts = [paragraph.text for paragraph in document.paragraphs[1:]]
    assert texts[0] == 2 * MARKUP
    assert texts[1].strip() == MARKUP
    assert document.paragraphs[1].hyperlinks[0].address == f"https://example.org/?q={MARKUP}"
    described = [e.get("descr") for e in document.element.iter() if e.tag.endswith("}docPr")]
    assert described == [f"code {MARKUP}"]
    assert [e.get(f"{W}val") for e in document.element.iter(f"{W}alias")] == [f"tick {MARKUP}"]


# ---- parts -----------------------------------------------------------------------------------


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_every_style_list_and_relationship_that_is_used_is_there(
    name: str, tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    document = opened([desk.page(name, suited(visits[tag], name), tag)])
    body, part = document.element, document.part
    styles = {style.style_id for style in document.styles}
    lists = {e.get(f"{W}numId") for e in part.numbering_part.element.iter(f"{W}num")}
    footers = [section.footer._element for section in document.sections]
    for root in (body, *footers):
        used = [e.get(f"{W}val") for e in root.iter(f"{W}pStyle", f"{W}rStyle")]
        assert set(used) <= styles
    assert {e.get(f"{W}val") for e in body.iter(f"{W}numId")} <= lists
    asked = {value for e in body.iter() for key, value in e.items() if key.startswith(R)}
    assert asked <= set(part.rels)
    assert len(asked) + 3 == len(part.rels), "the template's own are three; no other is unused"


@pytest.mark.parametrize("order", [("ar", "en", "ar"), ("es", "ar", "en")])
def test_each_section_has_the_direction_and_the_foot_of_its_page(
    order: tuple[str, ...], desk: Desk, visits: dict[str, Visit]
) -> None:
    pages = [desk.page("dark-area", visits[tag], tag) for tag in order]
    document = opened(pages)
    sections = list(document.element.iter(f"{W}sectPr"))
    assert len(sections) == len(order)
    assert [one.find(f"{W}bidi") is not None for one in sections] == [t == "ar" for t in order]
    for section, page in zip(document.sections, pages, strict=True):
        assert page.code in section.footer.paragraphs[0].text


@pytest.mark.parametrize("count", [1, 4, 5])
@pytest.mark.parametrize("name", ["reminder-card", "appointment-card"])
def test_every_place_for_a_card_has_the_same_size(
    name: str, count: int, desk: Desk, visits: dict[str, Visit]
) -> None:
    document = opened([desk.page(name, suited(visits["en"], name), "en")] * count)
    cells = [cell for table in document.tables for row in table.rows for cell in row.cells]
    columns = [column for table in document.tables for column in table.columns]
    assert len(cells) == count + count % 2
    assert len({one.width for one in (*cells, *columns)}) == 1


def test_a_picture_is_in_the_file_once(desk: Desk, visits: dict[str, Visit]) -> None:
    page = desk.page("introduction", visits["en"], "en")
    held = []
    for count in (1, 3):
        with zipfile.ZipFile(BytesIO(write([page] * count, "docx"))) as archive:
            held.append([one for one in archive.namelist() if "/media/" in one])
            document = Document(BytesIO(write([page] * count, "docx")))
        numbers = [e.get("id") for e in document.element.iter() if e.tag.endswith("}docPr")]
        assert numbers == [str(number) for number in range(1, 6 * count + 1)]
    assert held[0] == held[1]
    assert len(held[0]) == 12, "six drawings and their pixels"


def test_one_file_leaves_nothing_behind_for_the_next(desk: Desk, visits: dict[str, Visit]) -> None:
    pages = [desk.page("consent", visits[tag], tag, tag == "es") for tag in LANGUAGES]
    alone = [write([one], "docx") for one in pages]
    write(pages, "docx")
    assert [write([one], "docx") for one in reversed(pages)] == alone[::-1]


# ---- what stays together ---------------------------------------------------------------------


def paragraphs(made: Page) -> list[Any]:
    body = opened([made]).element.body
    return [one for one in body.iter(f"{W}p") if "".join(one.itertext()).strip()]


def is_kept(paragraph: Any) -> bool:
    return paragraph.find(f"{W}pPr/{W}keepNext") is not None


def test_what_is_signed_and_ticked_stays_on_the_page_of_its_words() -> None:
    line = Field((Text("Signature"),), ())
    made = bare(
        Section(
            "signature",
            Heading((Text("Signature of the patient"),), 2),
            (
                Paragraph((Text("I have read this."),)),
                Choices(((Text("Yes"),), (Text("No"),))),
                Fields((line, Field((Text("Date"),), ()))),
            ),
        ),
        Paragraph((Text("After"),)),
    )
    assert [is_kept(one) for one in paragraphs(made)[1:]] == [True] * 5 + [False] * 2


def test_there_is_a_centimetre_for_each_line_to_write_on() -> None:
    made = bare(Fields((Field((Text("Signature"),), ()), Field((Text("Name"),), (Text("A"),)))))
    styles = opened([made]).styles
    used = [one.style.name for one in opened([made]).paragraphs if one.text.strip()]
    assert used[-2:] == ["Line to write on", "Field line"]
    room = styles["Line to write on"].paragraph_format
    assert room.space_before + room.space_after + Pt(12 * 1.15) >= Mm(9.5)


def test_short_choices_stand_in_one_row() -> None:
    choices = ((Text("Yes"),), (Text("No"),))
    for in_row, count in ((True, 1), (False, 2)):
        made = bare(Choices(choices, in_row))
        rows = [one for one in paragraphs(made) if "\u2610" in "".join(one.itertext())]
        assert len(rows) == count


@pytest.mark.parametrize("tag", ["en", "ar"])
def test_a_chart_and_a_code_stand_beside_their_words(
    tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    for large in (False, True):
        document = opened([desk.page("introduction", visits[tag], tag, large)])
        sides = [
            [bool(cell._element.findall(f".//{W}drawing")) for cell in table.rows[0].cells]
            for table in document.tables
        ]
        beside = [True, True] in sides and [False, True] in sides
        assert beside != large
