"""Forms in two languages (rule LA-13): one page out of two, and pages that do not match."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from conftest import ROOT, WEDNESDAY
from plainleaf.desk import Desk
from plainleaf.errors import ExitCode, LanguageProblem, PaperProblem, Problem
from plainleaf.office.visits import Visit
from plainleaf.papers.beside import joined
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Choices,
    Fields,
    Heading,
    InLanguage,
    Page,
    Paragraph,
    Section,
    Table,
    Text,
    flat,
    inner_blocks,
    plain,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.checks import check, trace
from plainleaf.papers.subject import parts
from test_cli import run

FORMS = [paper.id for paper in PAPERS.values() if paper.shape == "form"]
PAIRS = [("es", "en"), ("en", "es"), ("ar", "en")]
EVERY = list(product(FORMS, PAIRS))


def both(
    desk: Desk, visits: dict[str, Visit], name: str, pair: tuple[str, str], large: bool = False
) -> Page:
    return desk.page_beside(name, pair[1], visits[pair[0]], pair[0], large)


def one(desk: Desk, visits: dict[str, Visit], name: str, tag: str, reader: str) -> Page:
    return desk.page(name, visits[reader], tag)


def boxes_and_lines(page: Page) -> tuple[int, int]:
    """How many boxes there are to tick, and how many lines to write on."""
    blocks = list(walk(page.blocks))
    boxes = sum(len(block.choices) for block in blocks if isinstance(block, Choices))
    fields = [one for block in blocks if isinstance(block, Fields) for one in block.fields]
    return boxes, sum(not one.value for one in fields)


def columns(page: Page) -> Iterator[Beside]:
    return (block for block in walk(page.blocks) if isinstance(block, Beside))


# ---- one page out of two ---------------------------------------------------------------------


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_both_sides_have_the_same_numbers_and_the_words_of_their_own_page(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    sides: tuple[list[Heading], list[Heading]] = ([], [])
    for block in columns(made):
        assert block.language == pair[1]
        for side, blocks in zip(sides, (block.first, block.second), strict=True):
            side += [one for one in blocks if isinstance(one, Heading)]
    numbers = [[heading.number for heading in side] for side in sides]
    assert numbers[0] == numbers[1] == [0, *range(1, len(numbers[0]))]
    assert len(numbers[0]) > 4
    for tag, side in zip(pair, sides, strict=True):
        alone = one(desk, visits, name, tag, pair[0])
        assert side == [block for block in walk(alone.blocks) if isinstance(block, Heading)]


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_no_word_of_either_language_is_lost(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = words_of(both(desk, visits, name, pair).blocks)
    for tag in pair:
        for block in walk(one(desk, visits, name, tag, pair[0]).blocks):
            for words in map(plain, runs(block)):
                assert words in made


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_every_box_and_line_stands_once_with_a_label_in_both_languages(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    assert boxes_and_lines(made) == boxes_and_lines(one(desk, visits, name, pair[0], pair[0]))
    for block in columns(made):
        inside = [*walk(block.first), *walk(block.second)]
        assert not any(isinstance(one, Fields | Choices) for one in inside)
    for block in walk(made.blocks):
        if isinstance(block, Fields | Choices):
            labels = runs(block) if isinstance(block, Choices) else runs(block)[::2]
            for label in labels:
                tags = [one.language for one in flat(label) if isinstance(one, InLanguage)]
                assert tags == [pair[1]]


def test_required_parts_numbers_and_trace_hold_on_the_joined_page(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("es", "en"))
    for tag in ("es", "en"):
        alone, found = parts(one(desk, visits, "consent", tag, "es")), parts(made)
        for element in PAPERS["consent"].elements:
            for line in words_of(alone[element.name]).splitlines():
                assert line in words_of(found[element.name])
    figures = Counter(row[2] for row in trace(made) if row[1] == "figure")
    alone = Counter(
        row[2] for row in trace(one(desk, visits, "consent", "es", "es")) if row[1] == "figure"
    )
    assert figures == {figure: 2 * count for figure, count in alone.items()}


def test_a_typed_number_or_a_missing_part_in_the_second_language_is_found(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "decline", ("es", "en"))
    bad = replace(next(columns(made)), second=(Paragraph((Text("call 7 times"),)),))
    with pytest.raises(PaperProblem, match="typed number"):
        check(replace(made, blocks=(*made.blocks, bad)), PAPERS["decline"], desk.figure_ids)
    silent = tuple(
        replace(block, blocks=())
        if isinstance(block, Section) and block.element == "rights"
        else block
        for block in made.blocks
    )
    with pytest.raises(PaperProblem, match="rights"):
        check(replace(made, blocks=silent), PAPERS["decline"], desk.figure_ids)


def test_tables_keep_their_rows_and_say_each_cell_in_both_languages(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    def table(page: Page) -> Table:
        return next(block for block in walk(page.blocks) if isinstance(block, Table))

    made = table(both(desk, visits, "consent", ("ar", "en")))
    first, second = (table(one(desk, visits, "consent", tag, "ar")) for tag in ("ar", "en"))
    assert len(made.rows) == len(first.rows) == 4
    for row, its, other in zip(made.rows, first.rows, second.rows, strict=True):
        for cell, mine, yours in zip(row, its, other, strict=True):
            pair = cell.blocks[0]
            assert isinstance(pair, Beside)
            assert (pair.first, pair.second) == (mine.blocks, yours.blocks)
            assert cell.element == mine.element == yours.element


@pytest.mark.parametrize(
    ("pair", "tags"),
    [(("es", "en"), ["", "en"]), (("en", "es"), ["en", "es"]), (("ar", "es"), ["", "es", "en"])],
)
def test_the_notice_on_a_draft_stands_once_in_each_language(
    pair: tuple[str, str], tags: list[str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", pair)
    notices = [
        block
        for block in made.blocks
        if isinstance(block, Section) and block.element == "draft-notice"
    ]
    assert made.blocks.index(notices[0]) == 1
    assert len(notices) == 1
    lines = [block for block in notices[0].blocks if isinstance(block, Paragraph)]
    assert [line.language for line in lines] == tags


def test_the_foot_names_the_version_with_both_languages(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("ar", "en"))
    assert f"{PAPERS['consent'].version} (ar, en)" in plain(made.foot)
    assert plain(made.foot).count("(ar") == 1


def test_what_is_the_same_in_both_languages_is_written_once(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("es", "en"))
    values = [
        plain(field.value)
        for block in walk(made.blocks)
        if isinstance(block, Fields)
        for field in block.fields
        if field.value
    ]
    assert values[0] == visits["es"].person.name
    assert "septiembre" in values[1]
    assert "September" in values[1]


# ---- pages that do not match -----------------------------------------------------------------


def changed(page: Page, element: str, blocks: Blocks) -> Page:
    """The page with what is in one section replaced."""
    return replace(
        page,
        blocks=tuple(
            replace(block, blocks=blocks)
            if isinstance(block, Section) and block.element == element
            else block
            for block in page.blocks
        ),
    )


def without(page: Page, element: str) -> Page:
    return replace(
        page,
        blocks=tuple(
            block
            for block in page.blocks
            if not (isinstance(block, Section) and block.element == element)
        ),
    )


def swapped(page: Page) -> Page:
    *before, last, end = page.blocks
    return replace(page, blocks=(*before, end, last))


def section(page: Page, element: str) -> tuple[Block, ...]:
    found = next(one for one in page.blocks if getattr(one, "element", "") == element)
    return inner_blocks(found)[1:]


def test_two_pages_that_do_not_have_the_same_parts_are_not_joined(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    first, second = (one(desk, visits, "consent", tag, "es") for tag in ("es", "en"))
    choices = section(second, "decision")[0]
    assert isinstance(choices, Choices)
    fewer = Choices(choices.choices[:-1])
    for other, named in (
        (without(second, "privacy"), "privacy"),
        (without(second, "withdrawal"), "withdrawal"),
        (swapped(second), "copy"),
        (changed(second, "decision", (fewer,)), "Choices"),
        (changed(second, "decision", (choices, choices)), "Choices"),
        (replace(second, sources=second.sources[1:]), "sources"),
    ):
        for pages in ((first, other), (other, first)):
            with pytest.raises(PaperProblem, match=named):
                joined(*pages)
    joined(first, second)


@pytest.mark.parametrize(
    ("name", "pair", "problem", "says"),
    [
        ("consent", ("es", "es"), LanguageProblem, "already"),
        ("introduction", ("es", "en"), PaperProblem, "not a form.*consent"),
        ("consent", ("es", "tlh"), LanguageProblem, "'tlh'"),
        ("consent", ("tlh", "en"), LanguageProblem, "'tlh'"),
    ],
)
def test_what_cannot_stand_beside_is_a_known_problem(
    name: str,
    pair: tuple[str, str],
    problem: type[Problem],
    says: str,
    desk: Desk,
    visits: dict[str, Visit],
    tmp_path: Path,
) -> None:
    out = tmp_path / "form.pdf"
    with pytest.raises(problem, match=says):
        desk.hand_out(name, out, visits["es"], pair[0], beside=pair[1])
    assert not list(tmp_path.iterdir())


def test_a_draft_beside_is_refused_as_a_draft_alone_is(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    forms = desk.practice.forms.model_copy(update={"allow_draft_translations": False})
    strict = Desk(desk.practice.model_copy(update={"forms": forms}), WEDNESDAY)
    with pytest.raises(LanguageProblem, match="draft"):
        strict.page_beside("consent", "es", visits["en"], "en")


def test_the_command_makes_a_form_in_two_languages(tmp_path: Path) -> None:
    demo = ROOT / "templates" / "demo" / "practice.toml"
    (tmp_path / "practice.toml").write_bytes(demo.read_bytes())
    words = ("make", "consent", "--language", "es", "--out", "form.html", "--beside")
    done = run(*words, "en", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "form.html").read_text("utf-8")
    assert "Your decision about the light look" in page
    assert '<html lang="es"' in page
    again = run(*words, "es", folder=tmp_path)
    assert again.returncode == ExitCode.LANGUAGE
    assert "Traceback" not in again.stderr
