"""The papers in tables: who signed which text, and what each must contain."""

from pathlib import Path

import typer

from plainleaf.desk import CALENDAR, CHECKS, PAPERS, translations
from plainleaf.faces.showing import table


def signatures(language: str, own: Path | None) -> None:
    """Print each text of a language that can be signed, by whom it is, and its digest."""
    states = translations.texts_to_sign(language, own)
    rows = [(one.paper, one.language, one.signed_by or one.state, one.digest) for one in states]
    table(("paper", "language to sign", "signed by", "digest to sign"), rows)
    if file := translations.unreviewed_marks(language, own):
        typer.echo(f"Its dates, numbers and names ({file}) say of themselves: not reviewed yet.")


def elements(own: Path | None) -> None:
    """Print what is declared of each paper, what it must contain, and all checks of a page."""
    languages = translations.whole_in(own)
    # The title of the calendar entry is a text of the e-mail that it goes with.
    languages[CALENDAR.id] = languages["reminder-mail"]
    listed = (*PAPERS.values(), CALENDAR)
    about = [
        (
            one.id,
            one.moment,
            one.reader,
            "exposed" if one.exposed else "sealed",
            ", ".join(one.needs) or "nothing more",
            " ".join(one.formats),
            " ".join(languages[one.id]),
        )
        for one in listed
    ]
    heads = ("paper", "moment", "reader", "privacy", "needs", "formats", "languages")
    table(heads, about)
    rows = [
        (one.id if number == 0 else "", element.name, " ".join(element.rules))
        for one in listed
        for number, element in enumerate(one.elements)
    ]
    table(("paper", "must contain", "rules"), rows)
    checks = [(" ".join(one.rules), one.says, one.where) for one in CHECKS]
    table(("rules", "checked on a page before it may leave", "where"), checks)
