"""Checks of forms and titles, and of what two sides and groups of numbers say."""

import re
from dataclasses import replace

import pypdfium2
import pytest

from conftest import LANGUAGES, PAPERS, WEDNESDAY, suited
from plainleaf.desk import Desk, write
from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import (
    Choices,
    Field,
    Fields,
    Figure,
    Heading,
    Isolate,
    Moment,
    Page,
    Paragraph,
    Section,
    Strong,
    Text,
    flat,
    runs,
    walk,
)
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.checks import CHECKS
from plainleaf.papers.content import MOST_TITLE, MOST_TITLE_WITHOUT_SPACES
from test_rules import NAMES, Bench, bench, chosen, instead, said

__all__ = ["bench"]


@pytest.mark.parametrize("mark", ["\u2612", "\u2714 ", "[x] ", "\u00d7 "])
def test_no_choice_is_ticked_or_stressed(mark: str, bench: Bench) -> None:
    one = CHECKS[NAMES.index("choices_equal")]
    page = bench.page("consent", "en")
    with pytest.raises(PaperProblem, match="stands out"):
        bench.run(one, chosen(page, mark))
    stressed = Choices(((Text("Yes"),), (Strong((Text("No"),)),)))
    with pytest.raises(PaperProblem, match="stands out"):
        bench.run(one, replace(page, blocks=(*page.blocks, stressed)))


def test_one_signature_never_covers_several_uses(bench: Bench) -> None:
    # GDPR Article 7(2); 45 CFR 164.508(b)(3) on compound authorisations.
    photo = bench.page("photo-permission", "en")
    lines = Fields(tuple(Field((Text(label),), ()) for label in "abc"))
    both = replace(photo, blocks=(*photo.blocks, Section("signature-patient", None, (lines,))))
    with pytest.raises(PaperProblem, match="one signature for several uses"):
        bench.check(both)
    consent = bench.page("consent", "en")
    use = next(one for one in photo.blocks if getattr(one, "element", "") == "use-teaching")
    with pytest.raises(PaperProblem, match="one signature for several uses"):
        bench.check(replace(consent, blocks=(*consent.blocks, use)))


def test_a_signature_that_is_filled_in_already_stops(bench: Bench) -> None:
    page = bench.page("consent", "en")
    lines = Fields(tuple(Field((Text(label),), (Text("A. Nybody"),)) for label in "abc"))
    with pytest.raises(PaperProblem, match="no room to sign"):
        bench.check(instead(page, "signature-patient", lines))


@pytest.mark.parametrize("lacks", ["version", "language", "day", "page of"])
def test_a_form_whose_foot_lacks_something_stops(lacks: str, bench: Bench) -> None:
    page = bench.page("consent", "en")
    foot = [one for one in page.foot if not (lacks == "day" and isinstance(one, Moment))]
    if lacks in ("version", "language"):
        foot = [
            replace(one, text="1" if lacks == "language" else "(en)")
            if isinstance(one, Isolate) and one.origin == "practice"
            else one
            for one in foot
        ]
    labels = replace(page.labels, page_of="page {page}") if lacks == "page of" else page.labels
    with pytest.raises(PaperProblem, match=r"The foot of|when it was made"):
        bench.check(replace(page, foot=tuple(foot), labels=labels))


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", [one.id for one in CATALOGUE.values() if one.shape == "form"])
def test_every_sheet_of_a_printed_form_says_which_and_whose_it_is(
    name: str, tag: str, bench: Bench, desk: Desk
) -> None:
    # CF-35: page x of y, the form, and the patient on every page; read out of the PDF.
    page = desk.page(name, suited(bench.visits[tag], name), tag)
    record = bench.visits[tag].person.record or ""
    document = pypdfium2.PdfDocument(write([page], "pdf"))
    assert len(document) >= 2
    for number, sheet in enumerate(document, 1):
        words = " ".join(sheet.get_textpage().get_text_bounded().split())
        said = page.labels.page_of.format(page=number, pages=len(document))
        # Copied out of an Arabic page, the hyphen and the brackets of a value change their place.
        ours = (record, f"({tag})") if tag != "ar" else (record.strip("J-"), f"({tag}")
        assert all(one in words for one in (said, *ours, str(WEDNESDAY.year))), words[-300:]


def test_titles_are_as_short_as_their_script_asks(bench: Bench) -> None:
    one = CHECKS[NAMES.index("title_short")]
    page = bench.page("introduction", "en")
    bench.run(one, replace(page, title="a" * MOST_TITLE))
    with pytest.raises(PaperProblem, match="characters"):
        bench.run(one, replace(page, title="a" * (MOST_TITLE + 1)))
    unspaced = replace(page, script="Jpan", title="灯" * (MOST_TITLE_WITHOUT_SPACES + 1))
    with pytest.raises(PaperProblem, match="characters"):
        bench.run(one, unspaced)


def test_sides_are_compared_under_headings_and_in_letters_too(bench: Bench) -> None:
    def with_sides(script: str, good: str, bad: str, level: int = 2) -> Page:
        page = instead(bench.page("consent", "en"), "both-sides")
        sides = (
            Section("benefit", Heading((Text("A"),), 2), (Paragraph((Text(good),)),)),
            Section("risks", Heading((Text("B"),), level), (Paragraph((Text(bad),)),)),
        )
        return replace(page, script=script, blocks=(*page.blocks, *sides))

    one = CHECKS[NAMES.index("sides_even")]
    bench.run(one, with_sides("Latn", "a b c d", "a b c d"))
    bench.run(one, with_sides("Jpan", "灯火灯火", "灯火灯火"))
    with pytest.raises(PaperProblem, match="words against"):
        bench.run(one, with_sides("Latn", "a b c d e f", "a b c"))
    with pytest.raises(PaperProblem, match="words against"):
        bench.run(one, with_sides("Jpan", "灯火灯火灯火", "灯火"))
    with pytest.raises(PaperProblem, match="headings of different size"):
        bench.run(one, with_sides("Latn", "a b c d", "a b c d", level=3))


@pytest.mark.parametrize("name", PAPERS)
def test_a_page_has_at_most_three_groups_of_numbers(name: str, bench: Bench) -> None:
    # NUM-10, after the advice of a public health service on numbers: three, as the cap is ours.
    figures = {one.id: one for one in bench.evidence.figures}
    page = bench.page(name, "en")
    groups = {
        (figures[figure].group, figures[figure].source)
        for block in walk(page.blocks)
        for run in runs(block)
        for one in flat(run)
        if isinstance(one, Figure)
        for figure in re.split(r" [-/] ", one.figure)
    }
    assert len(groups) <= 3


def test_a_value_in_the_middle_of_a_phrase_parts_its_words(bench: Bench) -> None:
    # Our own words are looked at, never a name: somebody may be called like a listed word.
    claim = CHECKS[NAMES.index("no_banned_claim")]
    page = bench.page("consent", "en")
    bench.run(claim, said(page, "it finds ", Isolate("cancer", "auto", "", "visit")))
    with pytest.raises(PaperProblem, match="finds cancer"):
        bench.run(claim, said(page, "it finds ", Strong((Text("cancer"),))))
