"""The address side of a card that is posted: the practice's address, and the person's."""

from dataclasses import replace
from pathlib import Path

from plainleaf.errors import FactsProblem
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import AddressSide, Inlines, Isolate, Page
from plainleaf.papers.exposed import check_exposed


def with_back(page: Page, practice: Practice, visit: Visit, locales: Path | None = None) -> Page:
    """A card for the post with its address side, if the practice prints backs; else the same page.

    ``locales`` is the office's own folder of languages, if any. Raises FactsProblem when the person
    has no address, and PaperProblem when a line of the address side carries a health word:
    everybody who handles the post reads it.
    """
    backs = practice.reminders.backs if practice.reminders else "none"
    if page.shape != "card" or page.card != "post" or backs == "none":
        return page
    person = visit.person
    if not person.address:
        raise FactsProblem(
            "There is no postal address.",
            "The cards are printed with their address sides, and this one would stay blank.",
            "Add the address to the list, or set 'backs' to \"none\" in practice.toml.",
        )
    sender, receiver = (practice.name, *practice.address.lines), (person.name, *person.address)
    backed = replace(
        page,
        back=AddressSide(
            tuple(_line(line, "practice", page) for line in sender),
            tuple(_line(line, "visit", page) for line in receiver),
            backs,
        ),
    )
    check_exposed(backed, locales, practice.languages)
    return backed


def _line(text: str, origin: str, page: Page) -> Inlines:
    latin = text.isascii()
    other = latin and page.script != "Latn"
    return (Isolate(text, "ltr" if latin else "auto", "en" if other else "", origin),)
