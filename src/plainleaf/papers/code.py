"""The code of a paper: three short digests that say whether the same paper can be made again.

``7K2M-9QXT-0B4C-0`` is a group each for the wording, the figures and the facts, and a check
character. What each group covers is told in ``covered``. A group is the first 20 bits of the
SHA-256 (FIPS 180-4) of canonical JSON: keys sorted, no spaces, UTF-8. Characters are the 32 of
Douglas Crockford's base 32 (crockford.com/base32.html: no I, L, O, U; small letters count, I and
L read as 1, O as 0, hyphens do not count).

The check character makes a sum of the thirteen zero in the field of 32 elements (polynomial
x^5 + x^2 + 1), each place with another weight: one wrong character and any two that changed
places are always noticed, anything else 31 times in 32. Crockford's own check is not used: five
of its signs are punctuation.

*How sure a group is.* Of changes to what a group covers, one in 2^20 (about a million) leaves it
as it was. That is enough to say whether one thing changed, and too little to tell papers apart:
among 1,206 papers with different facts the odds are even that two share the group of the facts.

*What a code can betray.* A digest cannot be turned back. But whoever knows all else on a paper can
try values for the rest, such as each of some thousand birthdays, and see which one gives the
group. Twenty bits limit this: from more than a million possible facts, several fit. A code stands
only where the same facts stand beside it, or in a file that holds them.
"""

import hashlib
import json
from typing import Any

from plainleaf.errors import PaperProblem

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
GROUPS = ("wording", "figures", "facts")
LENGTH = 4
"""Characters in a group, of five bits each."""

_BITS = 5
_POLYNOMIAL = 0b100101
_LIKE = str.maketrans("ILO", "110")
_UNSEEN = frozenset("-\u2010\u2011\u2012\u2013\u200e\u200f\u2066\u2067\u2068\u2069")
"""Hyphens as programs change them, and marks that come along when a code is copied."""


def stamp(wording: Any, figures: Any, facts: Any) -> str:
    """The code of what the three groups cover, each given as plain data that JSON can hold."""
    groups = [_group(content) for content in (wording, figures, facts)]
    return "-".join((*groups, _check("".join(groups))))


def of_both(code: str, other: str) -> str:
    """The code of a page joined from two, such as a form in two languages."""
    groups = zip(code.split("-"), other.split("-"), strict=True)
    wording, figures, facts, _ = (list(pair) for pair in groups)
    return stamp(wording, figures, facts)


def read(code: str) -> str:
    """A code as it was typed or copied, in its one form. Raises PaperProblem if it is none."""
    kept = (char for char in code if not char.isspace() and char not in _UNSEEN)
    signs = "".join(kept).upper().translate(_LIKE)
    wanted = len(GROUPS) * LENGTH
    strange = [sign for sign in signs if sign not in ALPHABET]
    if strange:
        raise _mistyped(code, f"'{strange[0]}' stands in no code")
    if len(signs) != wanted + 1:
        raise _mistyped(code, f"it has {len(signs)} characters in place of {wanted + 1}")
    if _check(signs[:-1]) != signs[-1]:
        raise _mistyped(code, "its last character does not fit the others")
    return "-".join((*(signs[at : at + LENGTH] for at in range(0, wanted, LENGTH)), signs[-1]))


def differing(code: str, other: str) -> tuple[str, ...]:
    """The names of the groups in which two codes differ, in the order of ``GROUPS``."""
    pairs = zip(GROUPS, code.split("-"), other.split("-"), strict=False)
    return tuple(name for name, mine, theirs in pairs if mine != theirs)


def _group(content: Any) -> str:
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    bits = int.from_bytes(hashlib.sha256(canonical.encode()).digest()) >> (256 - LENGTH * _BITS)
    places = range((LENGTH - 1) * _BITS, -1, -_BITS)
    return "".join(ALPHABET[bits >> place & 31] for place in places)


def _check(signs: str) -> str:
    total = 0
    for sign in signs:
        total = (total ^ ALPHABET.index(sign)) << 1
        total ^= _POLYNOMIAL if total >> _BITS else 0
    return ALPHABET[total]


def _mistyped(code: str, what: str) -> PaperProblem:
    return PaperProblem(
        f"'{code[:40]}' is not the code of a paper: {what}.",
        "A mistyped code would make the right paper look like a changed one.",
        "Compare it with the last line of the paper, or with the properties of its file.",
    )
