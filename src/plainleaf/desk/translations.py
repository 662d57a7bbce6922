"""The state of the translations: who signed what; catalogs updated, sent out, taken back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path

from babel.messages.pofile import read_po, write_po

from plainleaf import paths
from plainleaf.desk.acts import OWN_LANGUAGES, Desk, demo_visit, put
from plainleaf.errors import OutputProblem, Problem
from plainleaf.evidence.tables import load
from plainleaf.language.catalogs import (
    CATALOG,
    SOURCE,
    Catalog,
    Review,
    available,
    catalog,
    reviews,
)
from plainleaf.language.exchange import (
    Fault,
    Message,
    Texts,
    faults_of,
    from_po,
    from_xliff,
    messages_of,
    returned,
    texts_of,
    to_xliff,
)
from plainleaf.language.extraction import Wanted, of_paper, updated, wanted
from plainleaf.language.locales import language
from plainleaf.language.marks import Language
from plainleaf.office.practice import Practice
from plainleaf.papers.catalogue import PAPERS

WORD_LISTS = (
    *("exposed_words", "waiver_words", "value_words"),
    *("banned_claims", "selling_words", "one_in"),
)
"""The lists that each language needs beside its catalog."""


@dataclass(frozen=True)
class ReviewState:
    """How far one paper is in one language: texts missing, who signed, the digest as it stands."""

    paper: str
    missing: int
    signed_by: str
    digest: str

    @property
    def state(self) -> str:
        """In a word or two: signed, a draft, or how many texts are missing."""
        if self.missing:
            return f"{self.missing} missing"
        return "signed" if self.signed_by else "draft"


@dataclass(frozen=True)
class Taken:
    """What came of a file that came back: texts taken, texts still missing, what is wrong."""

    taken: int
    missing: int
    faults: tuple[str, ...]


@cache
def _texts(paper: str) -> tuple[tuple[str | None, str], ...]:
    return tuple(of_paper(paths.templates() / "papers", paper, load().positions))


def review_states(tag: str, extra: Path | None = None) -> list[ReviewState]:
    """The state of every paper in a language; English has a clinician's signature instead."""
    words = catalog(language(tag, "", extra), extra)
    signatures = reviews(extra)
    states = []
    for name in PAPERS:
        texts = _texts(name)
        digest = words.digest(texts)
        signed = [_who(one) for one in signatures if _signs(one, tag, name, digest)]
        missing = sum(_is_missing(words, context, text) for context, text in set(texts))
        states.append(ReviewState(name, missing, "; ".join(signed), digest))
    return states


def _signs(one: Review, tag: str, paper: str, digest: str) -> bool:
    return (one.language, one.paper, one.digest) == (tag, paper, digest)


def _who(one: Review) -> str:
    return f"{one.reviewer}, {one.qualification}, {one.day}"


def _is_missing(words: Catalog, context: str | None, text: str) -> bool:
    if words.language.tag == SOURCE:
        return False
    entry = words.entry(context, text)
    return entry is None or entry.fuzzy or not any(entry.string or ())


def matrix(extra: Path | None = None) -> tuple[list[str], list[tuple[str, ...]]]:
    """All languages, and for each paper its state in each of them."""
    tags = available(extra)
    columns = [[one.state for one in review_states(tag, extra)] for tag in tags]
    return tags, [
        (name, *row) for name, row in zip(PAPERS, zip(*columns, strict=True), strict=True)
    ]


def whole_in(extra: Path | None = None) -> dict[str, tuple[str, ...]]:
    """The languages in which each paper has all its texts."""
    tags, rows = matrix(extra)
    return {
        name: tuple(tag for tag, state in zip(tags, states, strict=True) if "missing" not in state)
        for name, *states in rows
    }


def update_catalog(tag: str, office: Path | None = None) -> tuple[Path, int]:
    """Bring a catalog up to date with the papers, or begin a language.

    A new language begins in the office's own folder when there is a practice.toml, with word lists
    to be filled in. Returns the file and how many texts are empty.
    """
    folder = _folder(tag, office)
    extra = folder.parent
    tongue = language(tag, "", extra)
    file = folder / CATALOG
    locale = str(tongue.locale)
    put(file, updated(file, locale, _needed()))
    for name in WORD_LISTS:
        if not (folder / f"{name}.txt").exists():
            put(folder / f"{name}.txt", _begun(name))
    catalog.cache_clear()
    messages = catalog(tongue, extra).messages or ()
    return file, sum(1 for one in messages if one.id and not any(one.string or ()))


def _folder(tag: str, office: Path | None) -> Path:
    """Where a language lives: with ours if it is ours, else beside the practice's settings."""
    name = tag.replace("-", "_")
    ours = paths.locales() / name
    own = office / OWN_LANGUAGES if office and (office / "practice.toml").exists() else None
    if own and ((own / name).is_dir() or not (ours / CATALOG).exists()):
        return own / name
    return ours


def _begun(name: str) -> bytes:
    """The head of the English list, as remarks; the words are the translator's to write."""
    lines = (paths.locales() / SOURCE / f"{name}.txt").read_text("utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    return (
        "\n".join([*head, "# To be written in this language; see that of 'en'."]) + "\n"
    ).encode()


def send(tag: str, out: Path, office: Path | None = None) -> Path:
    """Write a language's messages for a translator: PO, or XLIFF 2.1 for ``.xlf``.

    Raises OutputProblem for another ending.
    """
    folder = _folder(tag, office)
    tongue = language(tag, "", folder.parent)
    words = catalog(tongue, folder.parent)
    if _is_xliff(out):
        return put(out, to_xliff(messages_of(_needed()), texts_of(words.messages), tongue))
    return put(out, updated(folder / CATALOG, str(tongue.locale), _needed()))


def take(tag: str, file: Path, office: Path | None = None) -> Taken:
    """Take a translator's file back. What is sound is kept; the rest stays as it was and is told.

    Raises LanguageProblem when the file cannot be read, OutputProblem when it is not there.
    """
    folder = _folder(tag, office)
    tongue = language(tag, "", folder.parent)
    messages = messages_of(_needed())
    sound, faults = returned(messages, _read(file, messages, tongue), tongue)
    before = texts_of(catalog(tongue, folder.parent).messages)
    changed = {key: forms for key, forms in sound.items() if before.get(key) != forms}
    put(folder / CATALOG, _with(folder / CATALOG, tongue, changed))
    catalog.cache_clear()
    missing = sum(message.key not in sound and message.key not in before for message in messages)
    return Taken(len(changed), missing, tuple(map(str, faults)))


def _read(file: Path, messages: Iterable[Message], tongue: Language) -> Texts:
    xliff = _is_xliff(file)
    try:
        content = file.read_bytes()
    except OSError as error:
        raise OutputProblem(
            f"{file.name} cannot be read ({error.strerror}).",
            "Nothing of it could be taken.",
            "Give the file that the translator sent back.",
        ) from error
    if xliff:
        return from_xliff(content, messages, tongue, file.name)
    return from_po(content, tongue, file.name)


def _is_xliff(file: Path) -> bool:
    ending = file.suffix.lower()
    if ending not in (".po", ".xlf", ".xliff"):
        raise OutputProblem(
            f"'{file.name}' is no format for translators that we know.",
            "We do not guess what a file should be.",
            "Use the ending .po, or .xlf for XLIFF.",
        )
    return ending != ".po"


def _with(file: Path, tongue: Language, texts: Texts) -> bytes:
    """The catalog with some translations set."""
    messages = read_po(
        BytesIO(updated(file, str(tongue.locale), _needed())), locale=str(tongue.locale)
    )
    for (context, english), forms in texts.items():
        entry = messages.get(english, context)
        assert entry is not None
        entry.string = forms if isinstance(entry.id, tuple | list) else forms[0]
    written = BytesIO()
    write_po(written, messages)
    put(file, written.getvalue())
    return updated(file, str(tongue.locale), _needed())


def check(tag: str, practice: Practice, office: Path | None = None) -> list[str]:
    """What is wrong with a language: each message, then each paper as it would be printed."""
    folder = _folder(tag, office)
    tongue = language(tag, "", folder.parent)
    texts = texts_of(catalog(tongue, folder.parent).messages)
    messages = messages_of(_needed()) if tag != SOURCE else []
    faults = [
        Fault(message, what)
        for message in messages
        for what in (
            faults_of(message, texts[message.key], tongue)
            if message.key in texts
            else ["it is not translated"]
        )
    ]
    return [*map(str, faults), *_papers_that_fail(tag, practice, folder.parent.parent)]


def _papers_that_fail(tag: str, practice: Practice, home: Path) -> list[str]:
    """Papers that may not leave in a language, made for the demo's people."""
    drafts = practice.forms.model_copy(update={"allow_draft_translations": True})
    desk = Desk(practice.model_copy(update={"forms": drafts}), date.today(), home)
    found = []
    for one in PAPERS.values():
        try:
            desk.page(one.id, demo_visit(one, SOURCE, desk.today), tag)
        except Problem as problem:
            found.append(f"{one.id}: {problem.found}")
    return found


def _needed() -> list[Wanted]:
    return list(wanted(paths.templates() / "papers", load().positions))
