"""Who a posted letter goes to: the envelope and the lines that show in its window."""

from markupsafe import Markup

from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers import insets
from plainleaf.papers.catalogue import Paper


def envelope(paper: Paper, practice: Practice, visit: Visit | None) -> str:
    """The practice's envelope, by the name of its standard; empty for a paper that is handed out.

    A paper is handed out when it is none of those that are posted, when the practice has set no
    envelope, and when nobody told us the person's address.
    """
    if paper.posted and practice.post and visit and visit.person.address:
        return practice.post.envelope
    return ""


def address_lines(
    paper: Paper, practice: Practice, visit: Visit | None, words: Catalog
) -> list[Markup]:
    """Name and address as they stand on an envelope, a line each; none for a paper handed out.

    A letter about somebody with a guardian goes to the guardian, for that person.
    """
    if not visit or not envelope(paper, practice, visit):
        return []
    language, person = words.language, visit.person
    name, *address = (insets.name(one, "visit", language) for one in (person.name, *person.address))
    if person.guardian is None:
        return [name, *address]
    about = insets.fill(phrases.for_somebody(words), {"name": name})
    return [insets.name(person.guardian.name, "visit", language), about, *address]
