"""What must hold before a page may leave; a page that fails is not written."""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.language.catalogs import has_digit
from plainleaf.papers import content, forms, privacy, wording
from plainleaf.papers.blocks import (
    Block,
    Figure,
    Isolate,
    Moment,
    Page,
    PeopleChart,
    Section,
    Text,
    flat,
    plain,
    runs,
    walk,
)
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.exposed import check_exposed
from plainleaf.papers.exposed import exposed_words as exposed_words
from plainleaf.papers.order import Order
from plainleaf.papers.subject import Subject, inlines


@dataclass(frozen=True)
class Check:
    """One check and the papers on which it runs. Its function's first words are the rule ids."""

    run: Callable[[Subject], None]
    where: str = "every paper"

    @property
    def rules(self) -> tuple[str, ...]:
        """The ids of the rules that ask for it."""
        return tuple(self._told()[0].split())

    @property
    def says(self) -> str:
        """What is checked, in a sentence."""
        return self._told()[1]

    def _told(self) -> tuple[str, str]:
        ids, _, sentence = (self.run.__doc__ or "").partition("\n\n")[0].partition(": ")
        return ids, " ".join(sentence.split())


_WHERE: dict[str, Callable[[Paper], bool]] = {
    "every paper": lambda paper: True,
    "forms": lambda paper: paper.shape == "form",
    "papers that anybody may see": lambda paper: paper.exposed,
    "text messages": lambda paper: paper.id.endswith("-text"),
}
"""On which papers a check runs."""


def check(
    page: Page,
    paper: Paper,
    figure_ids: Collection[str],
    locales: Path | None = None,
    order: Order | None = None,
) -> None:
    """Raises PaperProblem for the first rule that the page breaks; CHECKS has them in order.

    With the ``order`` the page is compared with the practice's settings and the visit as well.
    """
    subject = Subject(page, paper, figure_ids, locales or paths.locales(), order)
    for one in CHECKS:
        if _WHERE[one.where](paper):
            one.run(subject)


def _elements_present(subject: Subject) -> None:
    """CF RF PH CCI IPD CL PR: each part that the catalogue names is there and says something."""
    page, paper, found = subject.page, subject.paper, subject.parts
    for element in paper.elements:
        if not any(map(_says_something, found.get(element.name, ()))):
            raise PaperProblem(
                f"'{paper.id}' in '{page.language}' lacks the part '{element.name}'"
                f" ({', '.join(element.rules)}).",
                "A reader could decide or wait without something that they have a right to know.",
                f'Put <section element="{element.name}"> back into the template, with its text.',
            )


def _says_something(block: Block) -> bool:
    """Whether there is a letter in a block, or below the heading of a section."""
    inside = block.blocks if isinstance(block, Section) else (block,)
    every = (run for one in walk(inside) for run in runs(one))
    return any(re.search(r"\w", plain(run)) for run in every)


def _every_number_traced(subject: Subject) -> None:
    """NUM-16: each number comes from a figure that is cited, the practice, the visit or a date."""
    page, figure_ids = subject.page, subject.figure_ids
    for inline in subject.inlines:
        if isinstance(inline, Text) or (isinstance(inline, Isolate) and not inline.origin):
            if has_digit(inline.text):
                raise PaperProblem(
                    f"'{page.paper}' in '{page.language}' has a typed number:"
                    f" '{inline.text.strip()[:60]}'.",
                    "A number on a paper must come from a figure, the practice or the visit.",
                    "Ask the template for the figure or the setting instead.",
                )
        elif isinstance(inline, Figure):
            unknown = set(references(inline.figure)).difference(figure_ids)
            if unknown or not page.sources:
                raise PaperProblem(
                    f"'{page.paper}' prints '{inline.text}', which stands for no figure that is"
                    f" known and cited ({inline.figure}).",
                    "A reader must be able to see where a number comes from.",
                    "Ask for figures through the template, so that each is cited.",
                )


def references(figure: str) -> list[str]:
    """The ids of the figures that a printed number was made from."""
    return re.split(r" [-/] ", figure)


def _charts_agree(subject: Subject) -> None:
    """NUM-01 NUM-13: a chart draws as many icons as its words say; all count out of one number."""
    page = subject.page
    totals = {block.total for block in walk(page.blocks) if isinstance(block, PeopleChart)}
    if len(totals) > 1:
        raise PaperProblem(
            f"'{page.paper}' counts people out of {' and out of '.join(map(str, sorted(totals)))}.",
            "Readers compare the first numbers they see, and these do not compare.",
            "Draw all charts of a paper out of the same number of people.",
        )
    for block in walk(page.blocks):
        if isinstance(block, PeopleChart):
            for part in block.parts:
                told = [one.value for one in flat(part.label) if isinstance(one, Figure)]
                if told[:1] != [str(part.count)]:
                    raise PaperProblem(
                        f"A chart of '{page.paper}' draws {part.count} people and says {told}.",
                        "A picture that disagrees with its words misleads.",
                        "Take both from the same value in the template.",
                    )


def _no_health_words(subject: Subject) -> None:
    """PR-04 PR-15 CL-09 EM-04: no health word, also not in the name of the practice."""
    languages = subject.order.practice.languages if subject.order else ()
    check_exposed(subject.page, subject.locales, languages)


def trace(page: Page) -> list[tuple[str, str, str]]:
    """Every number on a page: as printed, what kind it is, and what it stands for."""
    found: list[tuple[str, str, str]] = []
    for inline in inlines(page):
        if isinstance(inline, Figure):
            found.append((inline.text, "figure", inline.figure))
        elif isinstance(inline, Moment):
            found.append((inline.text, "date", inline.iso))
        elif isinstance(inline, Isolate) and _counts(inline):
            found.append((inline.text, inline.origin, inline.text))
    return found


def _counts(inline: Isolate) -> bool:
    """Whether a value has a numeral in it, or is a code, which now and then has none."""
    return inline.origin == "paper" or any(char.isnumeric() for char in inline.text)


CHECKS = (
    Check(_elements_present),
    Check(_every_number_traced),
    Check(_charts_agree),
    Check(_no_health_words, "papers that anybody may see"),
    Check(privacy.only_what_a_reminder_needs, "papers that anybody may see"),
    Check(privacy.addresses_tell_nothing),
    Check(privacy.short_enough, "text messages"),
    Check(wording.no_selling, "papers that anybody may see"),
    Check(wording.no_right_given_up, "forms"),
    Check(wording.no_value_words),
    Check(wording.no_banned_claim),
    Check(wording.one_in_one_number),
    Check(wording.calm),
    Check(content.most_important_first),
    Check(content.sides_even),
    Check(content.title_short),
    Check(content.experts_quoted),
    Check(content.weeks_agree),
    Check(content.other_formats_offered),
    Check(content.sources_listed),
    Check(content.dated),
    Check(content.accuracy_whole),
    Check(content.ranges_in_words),
    Check(content.no_gap),
    Check(forms.says_whose_it_is),
    Check(forms.choices_equal),
    Check(forms.decision_has_three_choices),
    Check(forms.signature_lines, "forms"),
    Check(forms.offers_again, "forms"),
    Check(forms.one_purpose_each, "forms"),
    Check(forms.names_the_person, "forms"),
    Check(forms.foot_names_the_form, "forms"),
)
"""Every check of a page in order; ``plainleaf papers --elements`` lists them."""
