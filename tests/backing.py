"""Which sentences must mean exactly the same in every language, and their translations back.

A translation back into English stands in ``tests/back/LANG.tsv``: the English message, a digest of
the translated text, and what somebody who saw only that text wrote in English. A changed text has
another digest, so its line lapses.
"""

import csv
import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

from plainleaf import paths
from plainleaf.evidence.tables import load
from plainleaf.language.catalogs import Catalog
from plainleaf.language.extraction import wanted
from plainleaf.papers.catalogue import PAPERS

FOLDER = Path(__file__).parent / "back"

# Risks, what is no diagnosis, what is not ruled out, times, costs, rights and whom to call.
_MEANS_MUCH = re.compile(
    r"diagnos|cancer|disease|false alarm|miss|worry|harm|biops|sample|specialist|refer|not healed"
    r"|bleed|swallow|breathe|weeks|days|minutes|years|latest|until|at once|soon|again|call"
    r"|choice|choose|right|permission|cannot|nobody|no one|costs|insurer|paid|free|not proven"
    r"|known|advised"
    r"|later|change your mind|at any moment|every month|agree|photograph|is gone|still there"
    r"|does not mean|say no\b|healthier|by itself|be read|ask for an interpreter|blood thinners"
    r"|not happened|made numb",
    re.IGNORECASE,
)

_VALUES = re.compile(
    r"%\((?:day|time|date|recheck|last|n|all|total|low|high|cases|deaths|phone)\)s"
)
"""Days, times, counts and phones: what is said around them is weighty in however few words."""


@dataclass(frozen=True)
class Weighty:
    """A message that must be exact: its context and its English text (the plural, if counted)."""

    context: str | None
    message: str
    english: str


def weighty() -> list[Weighty]:
    """All sentences of forms that are signed, and every other sentence with much at stake."""
    signed = {one.id for one in PAPERS.values() if one.signed and not one.for_team}
    signed |= {part for one in signed for part in _parts(one)}
    found: dict[tuple[str | None, str], Weighty] = {}
    for context, message, where in wanted(paths.templates() / "papers", load().positions):
        key, english = (message, message) if isinstance(message, str) else message
        sentence = len(english.split()) > 3
        much = sentence and (where in signed or _MEANS_MUCH.search(english))
        if much or _VALUES.search(english):
            found[context, key] = Weighty(context, key, english)
    return list(found.values())


def _parts(paper: str) -> list[str]:
    """The parts that a paper's template shares with others."""
    text = (paths.templates() / "papers" / f"{paper}.xml").read_text("utf-8")
    return re.findall(r'{% include "parts/(\w+)\.xml" %}', text)


def said(words: Catalog, one: Weighty) -> tuple[str, ...]:
    """The translated text: each of its forms, if it is counted."""
    entry = words.entry(one.context, one.message)
    assert entry is not None, one.message
    return (entry.string,) if isinstance(entry.string, str) else tuple(entry.string)


def digest(text: str) -> str:
    """A short digest of a translated text."""
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def backs(language: str) -> dict[tuple[str, str], str]:
    """The translations back of a language, by English message and digest of the text."""
    file = FOLDER / f"{language}.tsv"
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream, delimiter="\t", quoting=csv.QUOTE_NONE))
    return {(message, mark): back for message, mark, back in rows}
