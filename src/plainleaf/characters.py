"""Texts from outside, character by character: what is not seen goes, what cannot be printed stops.

Names, settings and cells of tables all come in through here.
"""

import re
import unicodedata

# The zero width space, marks that steer direction, and the byte order mark. The joiners of Persian
# and Hindi (U+200C, U+200D) are not among them: they change letters.
_HIDDEN = re.compile("[\u200b\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069\ufeff]")
_UNPRINTABLE = ("Cc", "Cs", "Co", "Cn")
_MARKS = re.compile("[\u0300-\u036f\u0640\u064b-\u0655\u0670]")
"""Accents, and the vowel marks and joining stroke of Arabic: people write with and without them."""


def one_line(text: str) -> str:
    """A text in NFC on one line, without marks that are not seen and steer direction."""
    return " ".join(unicodedata.normalize("NFC", _HIDDEN.sub("", text)).split())


def printable(text: str) -> bool:
    """Whether no character is a control, half of a pair, private or not assigned."""
    return not any(unicodedata.category(char) in _UNPRINTABLE for char in text)


def bare(text: str) -> str:
    """A text in small letters without accents and vowel marks, in NFC, for looking up."""
    return unicodedata.normalize(
        "NFC", _MARKS.sub("", unicodedata.normalize("NFD", text.casefold()))
    )
