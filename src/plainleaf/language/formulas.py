"""The published formulas, each valid in one language, on counts of a text.

Sources: English SMOG (McLaughlin 1969) and Flesch-Kincaid (1975); Spanish Szigriszt-Pazos (1993),
read on the INFLESZ scale (Barrio 2008); French Kandel-Moles (1958), the version with 207; German
Wiener Sachtextformel 1 (1984) and Amstad (1978); Italian Gulpease (1988); Portuguese Flesch after
Martins (1996); Polish FOG; Russian Flesch after Oborneva (2005), variant A; Japanese Tateisi, Ono
and Yamada (1988). All were read in copies or in other programs that carry them.
"""

from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class Counts:
    """What formulas count: sentences, words, syllables, letters, and words by their length."""

    sentences: int
    words: int
    syllables: int = 0
    letters: int = 0
    long: int = 0
    three: int = 0
    four: int = 0
    one: int = 0

    @property
    def words_per_sentence(self) -> float:
        """Mean length of a sentence in words."""
        return self.words / self.sentences

    @property
    def syllables_per_word(self) -> float:
        """Mean length of a word in syllables."""
        return self.syllables / self.words

    def percent(self, count: int) -> float:
        """A number of words in per cent of all."""
        return 100 * count / self.words


def smog(n: Counts) -> float:
    """English SMOG, formula D: years of school; from three syllables a word is long."""
    return 1.043 * sqrt(n.three * 30 / n.sentences) + 3.1291


def flesch_kincaid(n: Counts) -> float:
    """English grade after Flesch and Kincaid."""
    return 0.39 * n.words_per_sentence + 11.8 * n.syllables_per_word - 15.59


def szigriszt_pazos(n: Counts) -> float:
    """Spanish perspicuity after Szigriszt Pazos, read on the INFLESZ scale."""
    return 206.835 - 62.3 * n.syllables_per_word - n.words_per_sentence


def kandel_moles(n: Counts) -> float:
    """French ease after Kandel and Moles, the version with 207."""
    return 207 - 1.015 * n.words_per_sentence - 73.6 * n.syllables_per_word


def amstad(n: Counts) -> float:
    """German ease after Amstad."""
    return 180 - n.words_per_sentence - 58.5 * n.syllables_per_word


def wiener_1(n: Counts) -> float:
    """The first Wiener Sachtextformel: German years of school."""
    return (
        0.1935 * n.percent(n.three)
        + 0.1672 * n.words_per_sentence
        + 0.1297 * n.percent(n.long)
        - 0.0327 * n.percent(n.one)
        - 0.875
    )


def gulpease(n: Counts) -> float:
    """Italian Gulpease, on letters."""
    return 89 + (300 * n.sentences - 10 * n.letters) / n.words


def martins(n: Counts) -> float:
    """Portuguese ease after Martins."""
    return 248.835 - 1.015 * n.words_per_sentence - 84.6 * n.syllables_per_word


def fog_polish(n: Counts) -> float:
    """Polish FOG: years of school; from four syllables a word is long."""
    return 0.4 * (n.words_per_sentence + n.percent(n.four))


def oborneva_a(n: Counts) -> float:
    """Russian ease after Oborneva, variant A."""
    return 206.835 - 1.3 * n.words_per_sentence - 60.1 * n.syllables_per_word


def tateisi(size: float, runs: tuple[float, float, float, float], commas: float) -> float:
    """The Japanese score from means; 50 is average, and more is easier.

    ``size`` is in characters a sentence, ``runs`` in characters of each run of the alphabet, of
    hiragana, kanji and katakana, ``commas`` in commas a sentence.
    """
    alphabet, hiragana, kanji, katakana = runs
    of_runs = -1.37 * alphabet + 7.4 * hiragana - 23.18 * kanji - 5.4 * katakana
    return of_runs - 0.12 * size - 4.67 * commas + 115.79
