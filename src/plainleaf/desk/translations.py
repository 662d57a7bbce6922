"""The state of the translations: who has signed what, and catalogs brought up to date."""

from dataclasses import dataclass
from pathlib import Path

from plainleaf import paths
from plainleaf.desk.acts import put
from plainleaf.evidence.tables import load
from plainleaf.language.catalogs import catalog, reviews
from plainleaf.language.extraction import of_paper, updated, wanted
from plainleaf.language.locales import language
from plainleaf.papers.catalogue import PAPERS


@dataclass(frozen=True)
class ReviewState:
    """Who has signed a paper in a language, and the digest of the text as it stands."""

    paper: str
    signed_by: str
    digest: str


def review_states(tag: str) -> list[ReviewState]:
    """The state of every paper in a language."""
    words = catalog(language(tag))
    positions, signatures = load().positions, reviews()
    states = []
    for name in PAPERS:
        digest = words.digest(of_paper(paths.templates() / "papers", name, positions))
        signed = [
            f"{one.reviewer}, {one.qualification}, {one.day}"
            for one in signatures
            if (one.language, one.paper, one.digest) == (tag, name, digest)
        ]
        states.append(ReviewState(name, "; ".join(signed), digest))
    return states


def update_catalog(tag: str) -> tuple[Path, int]:
    """Bring a catalog up to date with the papers; returns the file and how many texts are empty."""
    locale = str(language(tag).locale)
    file = paths.locales() / tag.replace("-", "_") / "LC_MESSAGES" / "plainleaf.po"
    needed = list(wanted(paths.templates() / "papers", load().positions))
    put(file, updated(file, locale, needed))
    catalog.cache_clear()
    messages = catalog(language(tag)).messages or ()
    return file, sum(1 for one in messages if one.id and not any(one.string or ()))
