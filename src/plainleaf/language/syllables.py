"""Syllables of a written word, for the measures that count them; one rule set a language.

The rules are the spelling rules of each language's schoolbooks, from memory, and tests hold them
to words whose syllables are known. Languages that spell by sound are counted nearly exactly;
English and French within some per cent.
"""

import re
import unicodedata
from collections.abc import Callable

_ENGLISH_SILENT = re.compile(
    r"(?:[^csxzgaeiouy]es|(?<![sc])hes|[^dtaeiouy]ed|(?:[aeiouy]l|[^laeiouy])e|eves?)$"
)
_ENGLISH_EXTRA = re.compile(
    r"(?<![tcsgxl])i[ao]|[aeiouym]bl$|eo(?!us|n$|ple)|[aou]ing|uou|ier(?!ce)|iet"
    r"|[^qg]ua[^r]|ism$|ea(?:te$|ti)"
)
# Frequent words whose spelling misleads; counted as a dictionary speaks them.
_ENGLISH_KNOWN = {
    "area": 3, "areas": 3, "being": 2, "idea": 3, "ideas": 3, "every": 2, "everybody": 4,
    "everyday": 3, "something": 2, "sometimes": 2, "somebody": 3, "someone": 2, "people": 2,
    "business": 2, "different": 3, "evening": 2, "medicine": 3, "medicines": 3, "does": 1,
    "doesn't": 2, "science": 2, "quiet": 2, "diet": 2, "client": 2, "clinician": 3, "social": 2,
    "special": 2, "specialist": 3, "specialists": 3, "physician": 3, "tissue": 2, "issue": 2,
    "issues": 2, "usual": 3, "usually": 4, "museum": 3, "create": 2, "created": 3, "real": 1,
    "really": 2, "whole": 1, "before": 2, "therefore": 2, "elsewhere": 2, "anywhere": 3,
    "safety": 2, "lifetime": 2, "homecare": 2, "useful": 2, "careful": 2, "carefully": 3,
    "likely": 2, "closely": 2, "rarely": 2, "ulcer": 2, "biopsy": 3, "gently": 2, "denture": 2,
}  # fmt: skip


def syllables(word: str, language: str) -> int:
    """How many syllables a word has in a language (``en es fr de it pt pl ru``); at least one.

    Raises KeyError for a language without rules.
    """
    return max(1, _COUNTERS[language](word.lower().replace("\u2019", "'")))


def _english(word: str) -> int:
    plain = word.removesuffix("'s")
    if plain in _ENGLISH_KNOWN:
        return _ENGLISH_KNOWN[plain]
    if "-" in plain:
        return sum(_english(part) for part in plain.split("-") if part)
    groups = len(re.findall(r"[aeiouy]+", plain))
    if groups > 1 and _ENGLISH_SILENT.search(plain) and not re.search(r"[^aeiouy]le$", plain):
        groups -= 1
    return groups + len(_ENGLISH_EXTRA.findall(plain))


def _nuclei(word: str, strong: str, weak: str, stressed: str, rising: bool = True) -> int:
    """Syllables where two strong vowels part and a weak one joins its neighbour.

    A weak vowel with an accent (``stressed``) stands alone beside a strong one. Without ``rising``
    a weak vowel joins the strong one before it, and not the one after it.
    """
    count, before = 0, ""
    for char in word:
        if char not in strong + weak + stressed:
            before = ""
            continue
        a_strong = before in strong
        both = a_strong and char in strong
        alone = (a_strong and char in stressed) or (before in stressed and char in strong)
        falls = not rising and before in weak and char in strong
        count += not before or both or alone or falls
        before = char
    return count


def _spanish(word: str) -> int:
    spoken = re.sub(r"qu(?=[eiéí])", "k", word)
    spoken = re.sub(r"gu(?=[eiéí])", "g", spoken).replace("ü", "u")
    spoken = re.sub(r"y$", "i", spoken)
    spoken = re.sub(r"h", "", spoken)
    return _nuclei(spoken, "aeoáéó", "iu", "íú")


def _italian(word: str) -> int:
    spoken = re.sub(r"qu|gu(?=[aeio])", "k", word)
    spoken = re.sub(r"(?<=[aeou])i(?=[aeou])", "j", spoken)
    spoken = re.sub(r"(?<=[cg])i(?=[aeouàòèéù])|(?<=gl)i(?=[aeou])", "", spoken)
    ending = re.fullmatch(r".*[^aeiou](ia|ie|io|ii)", word)
    stressed = bool(ending) and word in _ITALIAN_STRESSED
    return _nuclei(spoken, "aeoàèéò", "iu", "ìíùú") + stressed


_ITALIAN_STRESSED = {"biopsia", "farmacia", "chirurgia", "malattia", "terapia", "allergia", "zia"}
_ITALIAN_STRESSED |= {"allergie", "malattie", "biopsie", "via", "mia", "sia", "vie", "mie", "zio"}


def _portuguese(word: str) -> int:
    spoken = re.sub(r"[qg]u(?=[aeioáéêíó])", "k", word).replace("ü", "u")
    spoken = re.sub(r"[ãõ][oei]", "ã", spoken)
    # After an accent, an ending such as -ia or -ua is one syllable.
    spoken = re.sub(r"(?<=[áéíóúâêô])(.*)[iu]([aeo]s?)$", r"\1\2", spoken)
    return _nuclei(spoken, "aeoáâàãéêóôõ", "iu", "íú", rising=False)


def _french(word: str) -> int:
    return sum(_french_part(part) for part in re.split(r"['-]", word) if part)


def _french_part(word: str) -> int:
    spoken = re.sub(r"[qg]u(?=[eéèêiîaoy])", "k", word)
    spoken = re.sub(r"(?<=[aeo])y(?=[aeiouéè])", "ii", spoken)
    groups = len(re.findall(r"[aeiouyàâéèêëîïôöùûüœæ]+", spoken))
    groups += len(re.findall(r"é[aâeoiu]|[aeou]ï|o[éèë]|[bcdfgpt][lr]i[aeo]|(?<=[aou])ii", spoken))
    mute = re.search(r"[^aeiouyàâéèêëîïôöùûü](?:e|es)$", spoken)
    verb = re.search(r"[^aeiouyàâéèêëîïôöùûüm]ent$", word) and word in _FRENCH_VERBS
    return groups - (1 if groups > 1 and (mute or verb) else 0)


_FRENCH_VERBS = {"montrent", "peuvent", "doivent", "disent", "restent", "semblent", "viennent"}
_FRENCH_VERBS |= {"posent", "savent", "trouvent", "paraissent", "payent", "aident", "regardent"}


def _german(word: str) -> int:
    spoken = re.sub(r"qu", "k", word)
    # Two vowels are one sound in these; an ending like -ion or -ie before a vowel parts.
    spoken = re.sub(r"aa|ee|oo|ie|ei|ai|au|eu|äu|ey|ay|ui", "o", spoken)
    return len(re.findall(r"[aeiouyäöüé]", spoken))


def _polish(word: str) -> int:
    soft = re.sub(r"(?<=[bcdfghjklłmnńprsśtwzźż])i(?=[aąeęoóu])", "", word)
    return len(re.findall(r"(?:au|eu)|[aąeęioóuy]", re.sub(r"(?<=n)au|(?<=n)eu", "aa", soft)))


def _russian(word: str) -> int:
    # An accent mark over a vowel is no letter of its own; й and ё are.
    bare = "".join(char for char in unicodedata.normalize("NFC", word) if char != "\u0301")
    return len(re.findall(r"[аеёиоуыэюя]", bare))


_COUNTERS: dict[str, Callable[[str], int]] = {
    "en": _english,
    "es": _spanish,
    "fr": _french,
    "de": _german,
    "it": _italian,
    "pt": _portuguese,
    "pl": _polish,
    "ru": _russian,
}

LANGUAGES = frozenset(_COUNTERS)
"""The languages that have rules."""
