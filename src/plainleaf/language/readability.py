"""How hard a text is to read, by the measure that is valid in its language, and its lengths.

A score compares drafts; it proves nothing about a reader (RL-03). Each measure is used in its own
language only (RE-01). Where none is published that can be computed on plain text, sentences and
words are measured instead.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from plainleaf.language import formulas
from plainleaf.language.formulas import Counts
from plainleaf.language.syllables import LANGUAGES, syllables

SHORTEST = 100
"""Words from which a score says anything at all (RE-03, from memory)."""

_SHORTEST_CHARACTERS = 300
"""The same where words are not parted by spaces; our own."""

MOST_WORDS = 20
MOST_SENTENCES = 3
"""Limits of a sentence in words and of a paragraph in sentences (RL-02)."""

_NO_SPACES = ("zh", "ja")
_MOST_CHARACTERS = 60
"""The limit of a sentence where words are not parted by spaces; our own."""

_ABBREVIATIONS = re.compile(
    r"\b(?:(?:Dr|Dra|Mr|Mrs|Ms|St|No|Nr|Sr|Sra|np|tzn)\.|[ap]\.\s?m\.|z\.\s?B\.|e\.g\.|i\.e\.|т\.\s?е\.)"
    r"(?=\s?\S)"
)
_END = re.compile(r"(?<=[.!?\u061f\u06d4\u0964])[\"'»”\u2069)]*\s+|(?<=[。！？])")
_LETTER = r"(?:[^\W\d_]|[\u0900-\u0903\u093a-\u094f\u0951-\u0957\u0962\u0963])"
"""A letter, or a vowel sign of Hindi, which is no letter in Unicode."""

_WORD = re.compile(rf"{_LETTER}+(?:[-'\u2019\u00b7]{_LETTER}+)*")
_NUMBER = re.compile(r"\d+(?:[.,:\u00a0\u202f]\d+)*")

Better = Literal["lower", "higher"]
Unit = Literal["words", "characters"]
"""In what a text is counted: in characters where a language writes no spaces."""


@dataclass(frozen=True)
class Text:
    """A text prepared for counting: paragraphs of sentences of words, and the bare sentences."""

    language: str
    paragraphs: tuple[tuple[str, ...], ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """All sentences."""
        return tuple(sentence for paragraph in self.paragraphs for sentence in paragraph)

    @property
    def words(self) -> tuple[str, ...]:
        """All words; numerals are none."""
        return tuple(word for sentence in self.sentences for word in _WORD.findall(sentence))


def count(text: Text) -> Counts:
    """The counts of a text; syllables only in languages that have rules for them."""
    words = text.words
    letters = [sum(char.isalpha() for char in word) for word in words]
    parts = [syllables(word, text.language) for word in words] if text.language in LANGUAGES else []
    return Counts(
        sentences=len(text.sentences),
        words=len(words),
        syllables=sum(parts),
        letters=sum(letters),
        long=sum(one > 6 for one in letters),
        three=sum(one >= 3 for one in parts),
        four=sum(one >= 4 for one in parts),
        one=sum(one == 1 for one in parts),
    )


def _counted(formula: Callable[[Counts], float]) -> Callable[[Text], float]:
    return lambda text: formula(count(text))


@dataclass(frozen=True)
class Measure:
    """A published measure: its name and version, how it scores, and the goal of a patient paper.

    ``goal`` is our own where its source names none. ``error`` is the published standard error, and
    nought where we know of none.
    """

    name: str
    score: Callable[[Text], float]
    goal: float
    better: Better
    error: float = 0.0


@dataclass(frozen=True)
class Score:
    """What a measure says of a text; ``met`` is None when the text is too short to be judged.

    ``size`` is the size of the sample in its ``unit``.
    """

    measure: Measure
    value: float
    sentences: int
    size: int
    unit: Unit
    enough: bool

    @property
    def met(self) -> bool | None:
        """Whether the goal is reached."""
        if not self.enough:
            return None
        lower = self.measure.better == "lower"
        return self.value <= self.measure.goal if lower else self.value >= self.measure.goal


_RUNS = (
    r"[A-Za-zＡ-Ｚａ-ｚ]+",
    r"[\u3041-\u309f]+",
    r"[\u4e00-\u9fff\u3005]+",
    r"[\u30a0-\u30ff]+",
)
"""Runs of the alphabet, of hiragana, of kanji and of katakana."""


def _tateisi(text: Text) -> float:
    whole = "".join(text.sentences)
    runs = [re.findall(pattern, whole) for pattern in _RUNS]
    alphabet, hiragana, kanji, katakana = (
        sum(map(len, found)) / len(found) if found else 0.0 for found in runs
    )
    size = sum(map(len, text.sentences)) / len(text.sentences)
    commas = whole.count("、") / len(text.sentences)
    return formulas.tateisi(size, (alphabet, hiragana, kanji, katakana), commas)


MEASURES: dict[str, tuple[Measure, ...]] = {
    "en": (
        Measure("SMOG, formula D", _counted(formulas.smog), 7, "lower", 1.5),
        Measure("Flesch-Kincaid grade", _counted(formulas.flesch_kincaid), 6, "lower"),
    ),
    "es": (Measure("INFLESZ", _counted(formulas.szigriszt_pazos), 65, "higher"),),
    "fr": (Measure("Kandel-Moles, version 207", _counted(formulas.kandel_moles), 60, "higher"),),
    "de": (
        Measure("Wiener Sachtextformel 1", _counted(formulas.wiener_1), 7, "lower"),
        Measure("Amstad", _counted(formulas.amstad), 60, "higher"),
    ),
    "it": (Measure("Gulpease", _counted(formulas.gulpease), 60, "higher"),),
    "pt": (Measure("Flesch after Martins", _counted(formulas.martins), 50, "higher"),),
    "pl": (Measure("FOG-PL", _counted(formulas.fog_polish), 9, "lower"),),
    "ja": (Measure("Tateisi", _tateisi, 50, "higher"),),
    "ru": (
        Measure("Flesch after Oborneva, variant A", _counted(formulas.oborneva_a), 60, "higher"),
    ),
}
"""The measures by language. Arabic has one that needs vowel marks, Chinese one that needs a list of
words, Vietnamese one that we hold from memory only: for them, and for languages without any,
lengths are all that is told."""


def prepare(paragraphs: Sequence[str], language: str) -> Text:
    """Paragraphs made ready for counting (RL-04).

    Points inside numbers and after abbreviations end no sentence; what holds no word is left out.
    """
    main = language.partition("-")[0]
    found = []
    for paragraph in paragraphs:
        plain = _NUMBER.sub("0", paragraph)
        plain = _ABBREVIATIONS.sub(lambda match: match[0].replace(".", ""), plain)
        sentences = tuple(one.strip() for one in _END.split(plain) if _WORD.search(one))
        if sentences:
            found.append(sentences)
    return Text(main, tuple(found))


def scores(text: Text) -> tuple[Score, ...]:
    """What the measures of its language say of a text; nothing where there is none."""
    unit = _unit(text)
    size = len(text.words) if unit == "words" else sum(map(_characters_in, text.sentences))
    if not text.words:
        return ()
    enough = size >= (SHORTEST if unit == "words" else _SHORTEST_CHARACTERS)
    return tuple(
        Score(one, one.score(text), len(text.sentences), size, unit, enough)
        for one in MEASURES.get(text.language, ())
    )


@dataclass(frozen=True)
class Piece:
    """A sentence with its size in words or characters, or a paragraph with its sentences."""

    text: str
    size: int


@dataclass(frozen=True)
class Lengths:
    """How long sentences and words are, and which sentences and paragraphs are too long.

    The unit of a sentence is the word, or the character where a language writes no spaces; there
    ``mean_word`` is None. ``sentence`` and ``paragraph`` are the longest of all, None of no text.
    """

    unit: Unit
    mean_sentence: float
    mean_word: float | None
    long_sentences: tuple[Piece, ...]
    long_paragraphs: tuple[Piece, ...]
    sentence: Piece | None
    paragraph: Piece | None


def lengths(text: Text) -> Lengths:
    """The lengths of a text, in every language; those of a text without a word are nothing.

    A sentence goes on after a semicolon: it ends where a reader is told that it does (RL-02).
    """
    unit, size = _unit(text), _sizer(text)
    sentences = [Piece(one, size(one)) for one in text.sentences]
    paragraphs = [Piece(" ".join(one), len(one)) for one in text.paragraphs]
    most = MOST_WORDS if unit == "words" else _MOST_CHARACTERS
    words = text.words
    return Lengths(
        unit,
        sum(one.size for one in sentences) / max(len(sentences), 1),
        sum(map(len, words)) / max(len(words), 1) if unit == "words" else None,
        tuple(one for one in sentences if one.size > most),
        tuple(one for one in paragraphs if one.size > MOST_SENTENCES),
        max(sentences, key=_by_size, default=None),
        max(paragraphs, key=_by_size, default=None),
    )


def _by_size(piece: Piece) -> int:
    return piece.size


def _unit(text: Text) -> Unit:
    return "characters" if text.language in _NO_SPACES else "words"


def _sizer(text: Text) -> Callable[[str], int]:
    return _words_in if _unit(text) == "words" else _characters_in


def _words_in(sentence: str) -> int:
    return len(_WORD.findall(sentence)) + len(_NUMBER.findall(sentence))


def _characters_in(sentence: str) -> int:
    return sum(char.isalnum() for char in sentence)
