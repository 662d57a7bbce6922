"""What one message may not say, by the papers on which it stands.

The checks of a page see what one visit brings onto it. Here each message of a catalog is looked at
by itself, with every list that holds where it can stand, so that none waits for a visit of its own.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from plainleaf.errors import PaperProblem
from plainleaf.evidence.tables import Position
from plainleaf.language.catalogs import Key as SaidKey
from plainleaf.language.extraction import in_source, wanted
from plainleaf.language.marks import Language
from plainleaf.papers.catalogue import PAPERS, Paper
from plainleaf.papers.checks import exposed_words, health_word
from plainleaf.papers.phrasing import folded, lines, said
from plainleaf.papers.saying import notice, of_paper
from plainleaf.papers.template import template
from plainleaf.papers.wording import RISKS_ARE_TOLD_IN

Key = tuple[str | None, str]
"""What a catalog knows a message by: its context and its English."""

LISTS = ("exposed_words", "selling_words", "waiver_words", "value_words", "banned_claims", "one_in")
"""The lists that each language needs beside its catalog."""

MOST_ON_CARDS = 2
"""So many times the letters of the English, and a line more, are the most on a card."""

_LINE = 40
_APART = "\ufffc"
_VALUE = re.compile(r"%\(\w+\)s")
_TAG = re.compile(r"</?\w+[^>]*>")
_INCLUDE = re.compile(r'{% include "([^"]+)" %}')
_OPENS = re.compile(r'<(section|box|td) [^>]*element="([\w-]+)"[^>]*>')


@dataclass(frozen=True)
class Use:
    """Where a message stands: on which papers, and whether a risk or a benefit is told there."""

    papers: frozenset[str]
    weighs: bool = False

    @property
    def _all(self) -> list[Paper]:
        return [PAPERS[one] for one in self.papers]

    @property
    def lists(self) -> tuple[str, ...]:
        """The lists of phrases that hold there; the exposed words are looked for in another way."""
        signed = any(one.shape == "form" for one in self._all)
        told = (
            (self.exposed, "selling_words"),
            (signed, "waiver_words"),
            (self.weighs, "value_words"),
        )
        return (*(name for holds, name in told if holds), "banned_claims")

    @property
    def exposed(self) -> bool:
        """Whether anybody may see it."""
        return any(one.exposed for one in self._all)

    @property
    def sent(self) -> bool:
        """Whether it is part of a text message."""
        return any(one.id.endswith("-text") for one in self._all)

    @property
    def small(self) -> bool:
        """Whether it stands where there is hardly any room: on a card or in a text message."""
        return self.sent or any(one.shape == "card" for one in self._all)


@cache
def uses(templates: Path, positions: tuple[Position, ...]) -> dict[Key, Use]:
    """Where each message stands; one that no paper says, such as a cover's, stands on none."""
    papers: dict[Key, set[str]] = {}
    for context, message, _ in wanted(templates, positions):
        papers[context, message if isinstance(message, str) else message[0]] = set()
    weighs: set[Key] = set()
    for name, paper in PAPERS.items():
        for context, message, _ in _of(templates, paper, positions):
            papers.setdefault((context, message), set()).add(name)
        for part in _risk_parts(_whole(templates, f"{name}.xml")):
            weighs.update(_keys(part))
    return {key: Use(frozenset(names), key in weighs) for key, names in papers.items()}


def _of(templates: Path, paper: Paper, positions: tuple[Position, ...]) -> Iterator[SaidKey]:
    yield from of_paper(template(templates, paper.id), paper, positions)
    if marked := notice(paper):
        yield from marked.messages


def _whole(templates: Path, name: str) -> str:
    """A template with its parts in their places."""
    source = (templates / name).read_text(encoding="utf-8")
    return _INCLUDE.sub(lambda found: _whole(templates, found[1]), source)


def _keys(source: str) -> Iterator[Key]:
    for context, message, _ in in_source(source.encode(), ""):
        yield context, message if isinstance(message, str) else message[0]


def _risk_parts(source: str) -> Iterator[str]:
    """The pieces of a template in which a word of judgement would weigh a risk or a benefit."""
    for opened in _OPENS.finditer(source):
        if opened[2] in RISKS_ARE_TOLD_IN:
            depth = 0
            for tag in re.finditer(rf"<(/?){opened[1]}\b", source[opened.start() :]):
                depth += -1 if tag[1] else 1
                if depth == 0:
                    yield source[opened.end() : opened.start() + tag.start()]
                    break


def problems_of(
    use: Use, english: str, forms: tuple[str, ...], tongue: Language, folder: Path
) -> list[str]:
    """What a message may not say where it stands, a sentence each; ``folder`` has the lists.

    A list that is missing or empty is not a fault of the message: ``lists_lacking`` names it.
    """
    found: list[str] = []
    for form in dict.fromkeys(forms):
        plain = _TAG.sub("", _VALUE.sub(_APART, form))
        found += _words(use, plain, tongue, folder)
        most = MOST_ON_CARDS * len(english) + _LINE
        if use.small and len(plain) > most:
            found.append(f"it has {len(plain)} letters where there is room for {most}")
        if any(mark in plain for mark in "!\u00a1\uff01"):
            found.append(f"it calls out with an exclamation mark: '{form}'")
    return found


def _words(use: Use, plain: str, tongue: Language, folder: Path) -> Iterator[str]:
    listed = _listed(folder, tongue.tag) if use.exposed else ()
    if word := health_word(plain, tongue.script, listed):
        yield f"it carries the health word '{word}' where anybody may see it"
    for name in use.lists:
        try:
            hits = said(folder, tongue.tag, name, folded(plain, tongue.tag))
        except PaperProblem:
            continue
        for phrase, there in hits:
            yield f"it says '{there}' (listed as '{phrase.text}' in {name}.txt)"


def _listed(folder: Path, tag: str) -> tuple[str, ...]:
    try:
        return exposed_words(folder, tag)
    except PaperProblem:
        return ()


def lists_lacking(tag: str, folder: Path) -> Iterator[str]:
    """Which lists of words a language lacks, or has without a word in them, and what to do."""
    for name in LISTS:
        try:
            lines(folder, tag, name, "Without it no paper is made.")
        except PaperProblem as problem:
            yield f"{problem.found} {problem.why} {problem.do}"
