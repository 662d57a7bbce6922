"""The state of the translations: who signed what; catalogs updated, sent out, taken back."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from plainleaf import paths
from plainleaf.desk.acts import answering, put
from plainleaf.desk.trial import faults_in_words, papers_that_fail, parts_to_send
from plainleaf.errors import LanguageProblem, OutputProblem
from plainleaf.evidence.tables import load
from plainleaf.language.catalogs import (
    CATALOG,
    SOURCE,
    Catalog,
    Key,
    Review,
    Standing,
    available,
    begun,
    catalog,
    reviews,
    standing,
    written_in,
)
from plainleaf.language.exchange import (
    Back,
    Fault,
    Message,
    Texts,
    faults_of,
    from_po,
    messages_of,
    returned,
    still_english,
    texts_of,
    unreadable,
)
from plainleaf.language.extraction import Wanted, filled, updated, wanted
from plainleaf.language.locales import language
from plainleaf.language.marks import Language
from plainleaf.language.matching import lookup, tag_of
from plainleaf.language.own_locale import FILE as LOCALE
from plainleaf.language.own_locale import OwnLanguage
from plainleaf.language.pofile import read
from plainleaf.language.xliff import from_xliff, to_xliff
from plainleaf.office.practice import Practice
from plainleaf.papers.allowed import LISTS, lists_lacking
from plainleaf.papers.catalogue import PAPERS, Paper
from plainleaf.papers.saying import notice, of_paper
from plainleaf.papers.template import folder_of_papers, template

_SHOWN = 10
"""So many texts are named in a remark."""


@dataclass(frozen=True)
class ReviewState:
    """How far one paper is in one language: texts missing, who signed, the digest as it stands.

    ``language`` is what a signature names: the tag, with the place that words this paper otherwise.
    """

    paper: str
    language: str
    missing: int
    standing: Standing
    digest: str

    @property
    def signed_by(self) -> str:
        """Who signed it; empty for nobody."""
        return self.standing.signed_by

    @property
    def state(self) -> str:
        """In a word or two: signed, a draft, or how many texts are missing."""
        return f"{self.missing} missing" if self.missing else self.standing.state


@cache
def _texts(paper: str) -> frozenset[Key]:
    told = template(folder_of_papers(), paper)
    return of_paper(told, PAPERS[paper], load().positions)


def review_states(tag: str, extra: Path | None = None, country: str = "") -> list[ReviewState]:
    """The state of every paper in a language, as a country words it.

    English, the source, is never a draft; a clinician signs it all the same.
    """
    words = catalog(language(tag, country, extra), extra)
    signatures = reviews(extra)
    return [_review_state(one, words, signatures) for one in PAPERS.values()]


def _review_state(one: Paper, words: Catalog, signatures: tuple[Review, ...]) -> ReviewState:
    texts = _texts(one.id)
    stands = standing(words, one.id, signatures, lambda: texts)
    marked = notice(one) if stands.draft else None
    needed = {*texts, *(marked.messages if marked else ())}
    missing = sum(_is_missing(words, context, text) for context, text, _ in needed)
    return ReviewState(one.id, words.form(texts), missing, stands, words.digest(texts))


def texts_to_sign(tag: str, extra: Path | None = None) -> list[ReviewState]:
    """Each text that can be signed: one a paper, and one more a place that words it otherwise.

    Raises LanguageProblem when there is no such language.
    """
    tag = answering(tag, available(extra))
    forms = [review_states(tag, extra, country) for country in ("", *written_in(tag, extra))]
    return [one for papers in zip(*forms, strict=True) for one in _each_text_once(papers)]


def unreviewed_marks(tag: str, extra: Path | None = None) -> str:
    """Where a language has dates, numbers and names that nobody has reviewed; else nothing.

    They are a part of every text that is signed in it.
    """
    tongue = language(answering(tag, available(extra)), "", extra)
    if isinstance(tongue, OwnLanguage) and not tongue.own.reviewed:
        return f"{tongue.tag.replace('-', '_')}/{LOCALE}"
    return ""


def _each_text_once(states: Iterable[ReviewState]) -> Iterable[ReviewState]:
    return {(one.language, one.digest): one for one in states}.values()


def _is_missing(words: Catalog, context: str | None, text: str) -> bool:
    if words.language.tag == SOURCE:
        return False
    entry = words.entry(context, text)
    return entry is None or entry.fuzzy or not any(entry.string or ())


def matrix(extra: Path | None = None) -> tuple[list[str], list[tuple[str, ...]]]:
    """All languages, and for each paper its state in each of them."""
    tags = begun(extra)
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


def tag_for(asked: str, office: Path | None = None) -> str:
    """The tag of a language as it was typed: a tag in any case, a code, or a name.

    What is no language that we know is given back as it is, for ``locale.toml`` may describe it.
    """
    plain = asked.strip().replace("_", "-")
    known = begun(paths.own_languages(office))
    same = (one for one in known if one.lower() == plain.lower())
    return next(same, None) or tag_of(asked) or plain


@dataclass(frozen=True)
class Updated:
    """A catalog brought up to date: the file, the number of its empty texts, what to know of it."""

    file: Path
    empty: int
    remarks: tuple[str, ...] = ()


def update_catalog(tag: str, office: Path | None = None) -> Updated:
    """Bring a catalog up to date with the papers, or begin a language.

    A new language begins in the office's own folder when there is a practice.toml, with word lists
    to be filled in. One of ours needs nothing there: it comes up to date with each release. Raises
    LanguageProblem for English, which has no catalog.
    """
    _has_a_catalog(tag)
    extra = paths.own_languages(office)
    tongue = language(tag, "", extra)
    place = _place(tag, office)
    ours = place.parent != paths.locales() and tag in begun() and not (place / CATALOG).exists()
    remarks: list[str] = []
    if ours:
        remarks.append("it comes with Plainleaf, up to date; nothing was written")
    else:
        put(place / CATALOG, _updated(place / CATALOG, tongue))
        remarks += _lists_begun(tag, place)
        catalog.cache_clear()
    extra = paths.own_languages(office)
    messages = [one for one in catalog(tongue, extra).messages or () if one.id]
    empty = sum(not any(one.string or ()) for one in messages)
    if empty == len(messages):
        remarks.append(_not_used_yet(tag))
    return Updated(paths.language_file(tag, CATALOG, extra), empty, tuple(remarks))


def _not_used_yet(tag: str) -> str:
    ours = lookup(tag, available())
    told = f"who reads '{tag}' is given '{ours}'" if ours else "no paper is made in it"
    return f"until it has texts, {told}"


def _has_a_catalog(tag: str) -> None:
    if tag == SOURCE:
        raise LanguageProblem(
            "English has no catalog: its texts are those of the templates.",
            "An empty one beside them would only stand in the way.",
            "Words of your own go into locales/en/exposed_words.txt and the other lists, and"
            " spellings of a country into locales/en_COUNTRY/overlay.po.",
        )


def _own(office: Path | None) -> Path | None:
    """The office's folder of languages, there or not yet; None without a practice.toml."""
    return office / paths.OWN_LANGUAGES if office and (office / "practice.toml").exists() else None


def _place(tag: str, office: Path | None) -> Path:
    """The folder that a language is written into: the office's own; in a checkout also ours.

    Raises OutputProblem when there is neither.
    """
    own = _own(office)
    if own is None and not paths.is_checkout():
        raise OutputProblem(
            "There is no practice.toml here.",
            "Texts written into the installed program would be lost with its next release.",
            "Run it beside your practice.toml, or name that with '--practice'.",
        )
    return (own or paths.locales()) / tag.replace("-", "_")


def _lists_begun(tag: str, place: Path) -> list[str]:
    """Begin the lists of words that a new language needs; what is to be done about them."""
    if lookup(tag, begun()):
        return []
    for name in LISTS:
        if not (place / f"{name}.txt").exists():
            put(place / f"{name}.txt", _begun(name))
    lacking = len(list(lists_lacking(tag, place.parent)))
    told = f"{lacking} lists of words beside it are empty; no paper is made before they are written"
    return [told] if lacking else []


def _begun(name: str) -> bytes:
    """The head of the English list, as remarks; the words are the translator's to write."""
    lines = (paths.locales() / SOURCE / f"{name}.txt").read_text("utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    return (
        "\n".join([*head, "# To be written in this language; see that of 'en'."]) + "\n"
    ).encode()


def _updated(file: Path, tongue: Language) -> bytes:
    try:
        return updated(file, str(tongue.locale), _needed(), tongue)
    except ValueError as error:
        raise unreadable(file.name, str(error)) from error


def send(tag: str, out: Path, office: Path | None = None) -> Path:
    """Write a language's messages for a translator: PO, or XLIFF 2.1 for ``.xlf``.

    Raises OutputProblem for another ending, LanguageProblem for English.
    """
    _has_a_catalog(tag)
    extra = paths.own_languages(office)
    tongue = language(tag, "", extra)
    if _is_xliff(out):
        texts = texts_of(catalog(tongue, extra).messages)
        return put(out, to_xliff(messages_of(_needed()), texts, tongue))
    return put(out, _updated(paths.language_file(tag, CATALOG, extra), tongue))


@dataclass(frozen=True)
class Taken:
    """What came of a file that came back: where the texts are now, how many, what is wrong.

    ``faults`` name what was left out, ``remarks`` what was taken and should be looked at.
    """

    file: Path
    taken: int
    missing: int
    faults: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def take(tag: str, file: Path, office: Path | None = None) -> Taken:
    """Take a translator's file back. What is sound is kept; the rest stays as it was and is told.

    With a practice.toml the texts go into the office's own folder, else into the checkout. Raises
    LanguageProblem when the file cannot be read or is in another language, OutputProblem when it
    is not there or there is no place for its texts.
    """
    _has_a_catalog(tag)
    extra = paths.own_languages(office)
    tongue = language(tag, "", extra)
    place = _place(tag, office)
    messages = messages_of(_needed())
    back = _back(file, messages, tongue)
    sound, faults = returned(messages, back.texts, tongue)
    faults += (wordy := faults_in_words(messages, sound, tongue, extra))
    sound = {key: sound[key] for key in sound.keys() - {one.message.key for one in wordy}}
    before = texts_of(catalog(tongue, extra).messages)
    changed = {key: forms for key, forms in sound.items() if before.get(key) != forms}
    if changed:
        base = paths.language_file(tag, CATALOG, extra)
        put(place / CATALOG, _with(base, tongue, changed))
        catalog.cache_clear()
    missing = sum(message.key not in sound and message.key not in before for message in messages)
    return Taken(
        place / CATALOG if changed else file,
        len(changed),
        missing,
        (*map(str, faults), *_left_out(back, messages)),
        (*back.remarks, *_to_look_at(messages, sound, tongue, extra)),
    )


def _back(file: Path, messages: list[Message], tongue: Language) -> Back:
    xliff = _is_xliff(file)
    try:
        content = file.read_bytes()
    except OSError as error:
        raise OutputProblem(
            f"{file.name} cannot be read ({error.strerror}).",
            "Nothing of it could be taken.",
            "Give the file that the translator sent back.",
        ) from error
    found = (from_xliff if xliff else from_po)(content, messages, tongue, file.name)
    if not (found.texts or found.unfinished or found.unknown or found.twice):
        raise unreadable(file.name, "there is no translation in it")
    return found


def _left_out(back: Back, messages: list[Message]) -> Iterator[str]:
    """What a file holds that was not taken, each text with its papers and why."""
    papers = {one.english[0]: ", ".join(one.papers) for one in messages}
    for english in back.unfinished:
        yield f"{papers.get(english, '?')}: '{english[:60]}': it is marked as unfinished."
    for english in back.twice:
        yield f"{papers.get(english, '?')}: '{english[:60]}': it stands there in two ways."
    for english in back.unknown:
        yield f"no paper: '{english[:60]}': it is none of our messages (its English was changed)."


def _is_xliff(file: Path) -> bool:
    ending = file.suffix.lower()
    if ending not in (".po", ".xlf", ".xliff"):
        raise OutputProblem(
            f"'{file.name}' is no format for translators that we know.",
            "We do not guess what a file should be.",
            "Use the ending .po, or .xlf for XLIFF.",
        )
    return ending != ".po"


def _with(base: Path, tongue: Language, texts: Texts) -> bytes:
    """A catalog with some translations set; nothing is written."""
    messages = read(_updated(base, tongue), tongue).messages
    for (context, english), forms in texts.items():
        entry = messages.get(english, context)
        assert entry is not None
        entry.string = forms if isinstance(entry.id, tuple | list) else forms[0]
    return filled(messages, str(tongue.locale), tongue)


@dataclass(frozen=True)
class Checked:
    """What is wrong with a language, and what should be looked at."""

    faults: tuple[str, ...]
    remarks: tuple[str, ...]


def check(tag: str, practice: Practice, office: Path | None = None) -> Checked:
    """What is wrong with a language: its lists, each message, each paper as it would be printed."""
    extra = paths.own_languages(office)
    tongue = language(tag, practice.country, extra)
    words = catalog(tongue, extra)
    needed = messages_of(_needed())
    texts = _spoken(words, needed)
    faults = [
        Fault(message, what)
        for message in needed
        for what in (
            faults_of(message, texts[message.key], tongue)
            if message.key in texts
            else ["it is not translated"]
        )
    ]
    faults += faults_in_words(needed, texts, tongue, extra)
    return Checked(
        (
            *lists_lacking(tag, extra or paths.locales()),
            *dict.fromkeys(map(str, faults)),
            *papers_that_fail(tag, practice, office),
        ),
        _to_look_at(needed, texts, tongue, extra) if tag != SOURCE else (),
    )


def _spoken(words: Catalog, needed: list[Message]) -> Texts:
    """Every text as papers say it: the country's, else the language's; English is its own."""
    texts = texts_of(words.messages)
    if words.messages is None:
        texts = {message.key: message.english for message in needed}
    return {**texts, **texts_of(words.overlay)}


def _to_look_at(
    messages: list[Message], texts: Texts, tongue: Language, extra: Path | None
) -> tuple[str, ...]:
    """Texts that are still English, and what a text message costs."""
    glossary = paths.language_file(tongue.tag, "glossary.txt", extra)
    kept = glossary.read_text("utf-8").casefold() if glossary.is_file() else ""
    same = [
        f"'{one.english[0][:60]}'"
        for one in messages
        if still_english(one, texts.get(one.key, ()))
        and f"{one.english[0]} = {one.english[0]}".casefold() not in kept
    ]
    shown = ", ".join(same[:_SHOWN]) + (", …" if len(same) > _SHOWN else "")
    told = (f"{len(same)} texts are the English ones: {shown}",) if same else ()
    return (*told, *parts_to_send(messages, texts, tongue))


def _needed() -> list[Wanted]:
    return list(wanted(paths.templates() / "papers", load().positions))
