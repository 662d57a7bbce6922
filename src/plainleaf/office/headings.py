"""What the headings of a day's list mean, however the front desk writes them.

A heading is understood, or it is near to one that is and is asked about, or it is named as not
read. None is dropped in silence: a list whose 'dark aera' nobody read would send home the letter
that nothing was seen.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

from plainleaf.errors import FactsProblem

_HEADINGS = {
    "name": "name|patient|patients|full name|patient name|client|client name",
    "first": "first name|given name|forename|preferred first name|first",
    "last": "last name|surname|family name|last",
    "called": "called|preferred name|nickname|known as|likes to be called",
    "language": "language|preferred language|lang|preferred lang|spoken language|language spoken|"
    "mother tongue|language preference|primary language|first language|speaks|language of letters",
    "born": "born|date of birth|birth date|birthdate|birthday|dob|born on",
    "record": "record|record number|chart|chart number|id|record id|file number|mrn|"
    "medical record number",
    "large_print": "large print|large letters|large type|large text|large font|big print|"
    "big letters|big font|large print letters",
    "place": "dark area|place|site|place of dark area|dark area place|dark area site|"
    "site of dark area|where dark area",
    "nothing_dark": "nothing dark|nothing looked dark|nothing was dark|nothing dark seen",
    "side": "side|side of mouth|mouth side",
    "done": "done|what was done|was done|what done",
    "nearest_tooth": "nearest tooth|tooth|tooth fdi|nearest tooth fdi",
    "colour": "colour|color",
    "size": "size|size mm|size in mm|size in millimetres|size in millimeters",
    "light": "light|light look|under light|under light look|light result|light look result",
    "pressure": "pressure|on pressure|pressed|pressure response",
    "likely_cause": "cause|likely cause|probable cause",
    "plan": "plan",
    "urgency": "urgency|priority",
    "surface": "surface",
    "edge": "edge|border",
    "feel": "feel|palpation",
    "ordinary_look": "ordinary look|in ordinary light|ordinary light",
    "since": "since|how long|duration|there since",
    "symptoms": "symptoms|symptom|complaints",
    "photographs": "photographs|photos|photo|photograph",
    "decision": "decision|decision about light look|light look decision",
    "phone": "phone|phone number|telephone|telephone number|mobile|mobile phone|mobile number|cell|"
    "cell phone|cell number|cellphone|tel",
    "email": "email|email address",
    "address": "address|postal address|mailing address|home address",
    "address_1": "address line 1|address 1|street|street address|address line",
    "address_2": "address line 2|address 2",
    "address_3": "address line 3|address 3",
    "city": "city|town|city town|town city",
    "state": "state|province|state province",
    "postal_code": "zip|zip code|postal code|postcode|post code|zip postal code",
    "outcome": "recheck outcome|outcome|outcome of recheck|recheck result|result of recheck",
    "outcome_day": "recheck outcome day|outcome day|day of outcome|recheck outcome date|"
    "outcome date|date of outcome|date of recheck outcome",
    "missed_rechecks": "missed rechecks|rechecks missed|missed recheck|recheck missed",
    "channels": "channels|channel|reach by|reach via|reached by|remind by|remind via|reminder by|"
    "reminder via|reminders by|reminders via|contact by|contact via|preferred contact|"
    "contact method|preferred contact method|reminder method|way of reminding",
    "guardian": "guardian|guardian name|parent or guardian|parent guardian|parent",
    "relationship": "relationship|guardian relationship|relationship of guardian|"
    "relationship to patient",
    "interpreter": "interpreter|interpreter name|interpreter number|interpreter id|"
    "interpreter name or number|name of interpreter",
    "interpreter_language": "interpreter language|language of interpreter",
    "interpreter_mode": "interpreter mode|interpreter by|interpreting|interpreting by",
    "coming_back": "coming back|will come back|comes back|come back",
    "normal": "normal|normal places|places normal|normal areas|looked normal|normal sites",
    "explained_by": "explained by|who explained",
    "done_by": "done by|looked by|look done by|light look done by|examined by|checked by",
}
_DAYS = {
    "day": "visit|seen",
    "recheck": "recheck|second look|recheck visit|recheck appointment",
    "next_visit": "next visit|next appointment|appointment|next appt|appt|booked visit",
    "cancelled_visit": "cancelled visit|canceled visit|cancelled appointment|canceled appointment|"
    "cancelled appt|canceled appt",
}
"""Facts with a day: the headings around these words, such as 'visit day' or 'date of recheck'."""

_AROUND = "{} date|{} day|date of {}|day of {}|{} on|{} booked|{} date and time|{} date time"
_OF_TIME = "{} time|time of {}|{} hour"
_ALONE = {
    "day": "day|date",
    "recheck": _DAYS["recheck"],
    "next_visit": _DAYS["next_visit"],
    "cancelled_visit": f"{_DAYS['cancelled_visit']}|cancelled|canceled",
}
_FILLERS = frozenset(
    {"patient", "patients", "pt", "s", "the", "their", "of", "is", "was", "a", "an", "our", "if"}
    | {"needed", "required", "requested", "wanted", "needs", "please", "any", "y", "n", "yes", "no"}
    | {"or", "number", "nr", "num"}
)
"""Words that people add to a heading without another meaning."""

_MAYBE_FIRST = ("name", "patient", "patients", "client")
"""Headings that beside a last name may mean the first one alone."""

_WEIGHTY = {
    **dict.fromkeys(("dark area", "dark spot", "dark patch", "lesion", "finding"), "dark area"),
    "large print": "large print",
}
"""Words that no unknown heading may hold: whoever misses these columns gets a wrong paper."""

_WEIGHTY_ALONE = {**dict.fromkeys(("area", "spot", "patch"), "dark area"), "lp": "large print"}
"""The same for whole headings."""

_WHY = "What stands under it would be missing from people's papers without a word."


@dataclass(frozen=True)
class Columns:
    """Where each fact stands, how its heading is written, and which headings nobody reads."""

    places: dict[str, int]
    heads: dict[str, str]
    unread: tuple[int, ...]

    def head(self, fact: str) -> str:
        """The heading as it stands in the list; for a column that is not there, ours."""
        return self.heads.get(fact) or _first_spelling(fact)


def understood(file: str, heads: Sequence[str]) -> Columns:
    """What each heading means.

    Raises FactsProblem for a heading that is nearly one of ours, for two columns with one fact,
    and for a list without names.
    """
    found: dict[str, list[int]] = {}
    unread = []
    for index, head in enumerate(heads):
        fact = _fact(head)
        if fact:
            found.setdefault(fact, []).append(index)
        elif head.strip():
            unread.append(index)
    _ask_about(file, [heads[index] for index in unread])
    for fact, indexes in found.items():
        if len(indexes) > 1:
            raise _double(file, [heads[index].strip() for index in indexes], fact)
    places = {fact: indexes[0] for fact, indexes in found.items()}
    unread += _names(file, heads, places)
    return Columns(
        places, {fact: heads[at].strip() for fact, at in places.items()}, tuple(sorted(unread))
    )


def _names(file: str, heads: Sequence[str], places: dict[str, int]) -> Iterator[int]:
    """Sees that everybody has a name; takes out the parts of one that stands whole, if any."""
    if "name" in places and "last" in places:
        if "first" not in places and _plain(heads[places["name"]]) in _MAYBE_FIRST:
            both = [heads[places[one]].strip() for one in ("name", "last")]
            raise _double(file, both, "name", "Call the first one 'first name' or 'full name'.")
        yield places.pop("last")
    if "name" not in places and not {"first", "last"} <= set(places):
        seen = ", ".join(f"'{' '.join(head.split())[:30]}'" for head in heads if head.strip())
        raise FactsProblem(
            f"{file} has no column of names: its headings are {seen or 'empty'}.",
            "Without it we cannot tell whose paper is whose.",
            "Put one line of headings on top, with 'name', or 'first name' and 'last name'.",
        )


def _fact(head: str) -> str:
    """The fact that a heading tells, or nothing."""
    plain = _plain(head)
    known = _spellings()
    return known.get(plain.replace(" ", "")) or _bare_spellings().get(_bare(plain), "")


def _plain(head: str) -> str:
    """Small letters and single spaces: no marks, no accents, 're-check' and 'e-mail' in one."""
    apart = unicodedata.normalize("NFKD", head).casefold()
    kept = "".join(char for char in apart if not unicodedata.combining(char))
    words = " ".join(re.sub(r"[\W_]+", " ", kept).split())
    return re.sub(r"\b(re|e) (check|mail)", r"\1\2", words)


@cache
def _spellings() -> dict[str, str]:
    """Every heading that we know, without its spaces, and the fact that it tells."""
    return {words.replace(" ", ""): fact for fact, words in _worded()}


@cache
def _bare_spellings() -> dict[str, str]:
    """The same without the words that mean nothing, where no two facts are left alike."""
    found: dict[str, set[str]] = {}
    for fact, words in _worded():
        found.setdefault(_bare(words), set()).add(fact)
    return {bare: facts.pop() for bare, facts in found.items() if bare and len(facts) == 1}


def _bare(plain: str) -> str:
    return "".join(word for word in plain.split() if word not in _FILLERS)


def _worded() -> Iterator[tuple[str, str]]:
    for fact, words in (*_HEADINGS.items(), *_ALONE.items()):
        yield from ((fact, one) for one in words.split("|"))
    for fact, words in _DAYS.items():
        for base, around in product(words.split("|"), _AROUND.split("|")):
            yield fact, around.format(base)
    for fact in ("recheck", "next_visit", "cancelled_visit"):
        for base, around in product(_DAYS[fact].split("|"), _OF_TIME.split("|")):
            yield f"{fact}_time", around.format(base)


def _first_spelling(fact: str) -> str:
    return next(words for one, words in _worded() if one == fact)


def _ask_about(file: str, heads: Iterable[str]) -> None:
    """Raises FactsProblem when an unknown heading is nearly one of ours."""
    near = [(head.strip(), _nearest(_plain(head))) for head in heads]
    asked = [f"'{head}' (did you mean '{one}'?)" for head, one in near if one]
    if asked:
        raise FactsProblem(
            f"{file} has a heading that we do not know: {', '.join(asked)}.",
            _WHY,
            "Correct the heading, or give it quite another name if the column is only for you.",
        )


def _nearest(plain: str) -> str:
    """The known heading that somebody may have mistyped or wordily written, or nothing."""
    held = next((known for one, known in _WEIGHTY.items() if one in plain), "")
    if weighty := held or _WEIGHTY_ALONE.get(plain, ""):
        return weighty
    for _, known in _worded():
        words, others = plain.split(), known.split()
        if len(words) != len(others):
            words, others = [plain.replace(" ", "")], [known.replace(" ", "")]
        pairs = zip(words, others, strict=True)
        if all(one == other or _mistyped(one, other) for one, other in pairs):
            return known
    return ""


def _mistyped(word: str, known: str) -> bool:
    """Whether one letter too many, too few, changed or swapped makes the one from the other."""
    if max(len(word), len(known)) < 5 and sorted(word) != sorted(known):
        return False
    if word[:1] != known[:1] or re.search("[0-9]", word) or abs(len(word) - len(known)) > 1:
        return False
    at = next((n for n, (a, b) in enumerate(zip(word, known, strict=False)) if a != b), len(known))
    rest, other = word[at:], known[at:]
    swapped = rest[1::-1] == other[:2] and rest[2:] == other[2:]
    return swapped or rest[1:] == other or rest == other[1:] or rest[1:] == other[1:]


def _double(file: str, heads: Sequence[str], fact: str, do: str = "") -> FactsProblem:
    shown = " and ".join(f"'{head}'" for head in heads)
    return FactsProblem(
        f"{file} has {len(heads)} columns for one thing: {shown} (we read each as"
        f" '{_first_spelling(fact)}').",
        "We would have to choose one, and what stands in the other would be lost.",
        do or "Take one of them out, or give it quite another name.",
    )
