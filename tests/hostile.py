"""Lists, bundles and files as hostile as a bad day makes them, out of a seeded generator.

Each list and bundle comes with what must be found in it, known from how it was built and not from
how we read it. All people are invented.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from random import Random
from typing import Any

# Cells that a name, or any free text, may hold and still be printed as something.
NAMES = (
    "Maren Whitlock",
    "José Ñandú",
    "Jose\u0301 Combining",  # NFD
    "Z\u0335\u0321a\u0316\u0317\u0318lgo\u0301\u0302\u0303\u0304",  # a pile of combining marks
    "李 小龙",
    "山田 太郎",
    "محمد الأمين",
    "שרה לוי",
    "नीना शर्मा",
    "O'Neil-Smith, Jr.",
    'Ada "Dee" Quist',
    "=1+1",
    '=HYPERLINK("https://example.org","x")',
    "+1 303",
    "-2+3",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "#panic() *x* _y_ $z$ `q` \\n // [a](b)",
    "{{ 7*7 }} {% raw %} %(name)s %s {0}",
    "A;B\tC|D,E",
    "two\nlines",
    "two\r\nlines",
    "ends in\r",
    "line\u2028separator",
    "paragraph\u2029separator",
    "next\u0085line",
    "form\u000cfeed",  # white space, as the next two are for Python
    "vertical\u000btab",
    "file\u001cseparator",
    "\ufeffBom Inside\ufeff",
    "\u202eright to left\u202c",
    "\u2067isolated\u2069",
    "zero\u200bwidth\u200djoin\u00adsoft",
    "😀 Emoji 👩🏽‍⚕️",
    "𝒜 astral",
    "x" * 300,
    "Anneliese " * 40,
    "ﬁ ligature ㎜ ½ ①",
    "1234567",
    "N/A",
    "null",
    "\u00a0nbsp\u00a0",
    "back\\slash",
)
# Cells that no paper can print: control, private and unassigned characters.
UNPRINTABLE = (
    "bell\u0007",
    "escape\u001b[31m",
    "private\ue000use",
    "un\U000e0fffassigned",
    "delete\u007f",
)
DAYS = (
    *("2026-11-25", "1961-04-17", "0001-01-01", "9999-12-31", "2024-02-29", " 2026-11-25 "),
    *("25.11.2026", "25/11/2026", "11/25/2026", "2026/11/25", "7.7.1961"),
)
NO_DAYS = (
    *("2026-13-01", "2026-02-30", "25.13.2026", "11/25/26", "tomorrow", "20261125", "=TODAY()"),
    *("12/9/2026", "9.12.2026", "30/02/2026"),
)
MOMENTS = (
    "2026-12-09T10:30",
    "2026-12-09 10:30:00",
    "2026-12-09T23:59:59.999999",
    "0001-01-01T00:00",
    "9999-12-31T23:59",
    "2026-03-08T02:30",
    "2026-11-01T01:30",
    "25.11.2026 14:30",
    "11/25/2026 2:30 PM",
)
NO_MOMENTS = (
    *("2026-12-09", "2026-12-09T10:30Z", "2026-12-09T25:00", "10:30", "2026-12-09T10:30+02:00"),
    *("12/9/2026 10:30", "11/25/2026 14:30 PM", "25.11.2026"),
)
# Each column: spellings of its heading, cells that are sound, and cells that are surely wrong.
COLUMNS: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "name": (("name", "Patient Name", "FULL-NAME"), NAMES, UNPRINTABLE),
    "called": (("called", "Preferred_Name"), ("", *NAMES), UNPRINTABLE),
    "language": (("language", "Preferred Language"), ("", "en", "es", "ar"), ()),
    "born": (("born", "DOB", "date of birth"), ("", *DAYS), NO_DAYS),
    "record": (("record", "Chart Number"), ("", "J-1001", *NAMES), UNPRINTABLE),
    "large_print": (("large print",), ("", "yes", "No", "TRUE", "x"), ("perhaps", "2", "=1")),
    "day": (("visit day", "date"), ("", *DAYS), NO_DAYS),
    "next_visit": (("next visit", "appointment"), ("", *MOMENTS), NO_MOMENTS),
    "cancelled_visit": (("cancelled visit",), ("", *MOMENTS), NO_MOMENTS),
    "recheck": (("recheck", "Re-Check"), ("", *MOMENTS), NO_MOMENTS),
    "decision": (("decision",), ("", "agreed", "Wants-Time"), ("perhaps", "=1+1", "agreed!1")),
    "phone": (("phone", "Mobile"), ("", "+1 303 555 0100"), UNPRINTABLE),
    "email": (("e-mail",), ("", "a@example.org"), ("a at b", "@", "a@b c")),
    "address": (("address",), ("", "1 Larch Row | Example"), ("|".join("abcdefg"), "x|\u0007")),
    "channels": (
        *(("remind by",), ("", "letter", "letter + E-Mail", "letter, E-Mail")),
        ("owl", "letter & email", "none, email"),
    ),
    "missed": (("missed rechecks",), ("", "0", "2"), ("21", "-1", "two", "1e3", "٢")),
}
UNREAD = ("notes", "insurance", "", "Ünread ✓", "x" * 200, "name of dog", "next\nof kin")


@dataclass
class Case:
    """A list or a bundle, and the line and name of everybody in it, by how it was built.

    ``sound`` and ``wrong`` are the lines that surely are so; the others may be either.
    """

    content: bytes
    people: list[tuple[int, str]] = field(default_factory=list)
    sound: set[int] = field(default_factory=set)
    wrong: set[int] = field(default_factory=set)


def day_list(rng: Random, rows: int) -> Case:
    """A well-formed CSV file with this many rows of data, and some that are blank."""
    columns = ["name", *rng.sample(sorted(COLUMNS), rng.randint(1, 9))]
    columns = list(dict.fromkeys(columns))
    columns += [f"?{word}" for word in rng.sample(UNREAD, rng.randint(0, 3))]
    rng.shuffle(columns)
    delimiter, end = rng.choice(",;\t"), rng.choice(("\n", "\r\n", "\r"))
    always = rng.random() < 0.3
    if len(columns) == 1:
        delimiter = ","  # nothing in the headings could tell another
    heads = [one[1:] if one[0] == "?" else rng.choice(COLUMNS[one][0]) for one in columns]
    if max(",;\t", key=lambda mark: delimiter.join(heads).count(mark)) != delimiter:
        heads = [re.sub("[,;\t]", " ", head) for head in heads]
    case = Case(b"")
    text = _record(heads, delimiter, end, always)
    while len(case.people) < rows:
        cells, state = _cells(rng, columns)
        line_text = _record(cells, delimiter, end, always)
        before = _lines(text)
        text += line_text
        if not any(cell.replace("\0", "").strip() for cell in cells):
            continue
        line = before + _lines(line_text)
        at = columns.index("name")
        name = "".join(cells[at : at + 1]).replace("\0", "")
        name = re.sub("\r\n|\r", "\n", name).strip()
        case.people.append((line, name or "(no name)"))
        {"sound": case.sound, "wrong": case.wrong}.get(state, set()).add(line)
    if rng.random() < 0.3:
        text = text.removesuffix(end) or text
    case.content = text.encode("utf-8-sig" if rng.random() < 0.4 else "utf-8")
    return case


def _born_after_the_visit(cells: list[str], columns: list[str]) -> bool:
    born, day = (
        cells[columns.index(one)].strip() if one in columns else "" for one in ("born", "day")
    )
    return bool(day) and bool(born) and _year_first(born) > _year_first(day)


def _year_first(day: str) -> str:
    """One of ``DAYS`` so that days can be compared as texts."""
    return {"7.7.1961": "1961-07-07"}.get(day, "2026-11-25" if "25" in day else day)


def _cells(rng: Random, columns: list[str]) -> tuple[list[str], str]:
    """The cells of a row, and whether it is surely sound, surely wrong or either."""
    kind = rng.choices(("sound", "wrong", "wild", "blank"), (60, 20, 17, 3))[0]
    if kind == "blank":
        return [rng.choice(("", " ", "\u00a0")) for _ in columns][: rng.randint(1, 99)], kind
    cells = [_good(rng, one) for one in columns]
    if kind == "sound":
        short = rng.random() < 0.1 and columns[-1][0] == "?"
        kind = "wrong" if _born_after_the_visit(cells, columns) else kind
        return (cells[:-1] if short else cells), kind
    if kind == "wrong":
        first = {one: columns.index(one) for one in columns if one[0] != "?" and COLUMNS[one][2]}
        spoiled = rng.choice(sorted(first))
        cells[first[spoiled]] = rng.choice(COLUMNS[spoiled][2])
        if len(columns) > 1 and rng.random() < 0.2:
            cells.append("one cell too many")
        return cells, kind
    pool = (*NAMES, *UNPRINTABLE, *NO_DAYS, *MOMENTS, *NO_MOMENTS, "", "nul\0nul", "\0")
    wild = [rng.choice(pool) for _ in columns]
    return (wild if rng.random() < 0.7 else wild[: rng.randint(1, len(wild))]), kind


def _good(rng: Random, column: str) -> str:
    if column[0] == "?":
        return rng.choice(("", "seen", *NAMES))
    if column in ("name", "called") and rng.random() < 0.5:
        return f"Ana {rng.choice('BCDEFG')}. Roe {rng.randint(1, 999)}"
    return rng.choice(COLUMNS[column][1])


def _record(cells: list[str], delimiter: str, end: str, always: bool) -> str:
    """A record of RFC 4180: what needs quotation marks has them, and they are doubled inside."""
    parts = []
    for cell in cells:
        needed = always or re.search(f'["\r\n{delimiter}]', cell)
        parts.append('"' + cell.replace('"', '""') + '"' if needed else cell)
    return delimiter.join(parts) + end


def _lines(text: str) -> int:
    return len(re.findall("\r\n|\r|\n", text))


STATUSES = ("booked", "pending", "booked", "cancelled", "noshow", "proposed", "fulfilled")
STARTS = (
    "2026-12-09T10:30:00-07:00",
    "2026-12-09T10:30:00Z",
    "2026-12-10T06:59:59.999Z",
    "2026-12-10T00:30:00+14:00",
    "1937-01-01T12:00:27.87+00:20",
)
NO_STARTS = (
    *("2026-12-09", "2026-12-09T10:30:00", "0001-01-01T00:00:00+14:00", "", None, 5, [], "\ud800"),
    *("9999-12-31T23:59:59-12:00", "2026-11-01T01:30:00-06:00", "2026-12-09T10:30:60Z"),
)
JUNK: tuple[Any, ...] = (
    *(None, 0, -1, 1e308, 10**30, True, "", "\ud800", "half \udfff", "\0", [], {}, [[]], [None]),
    *({"value": "x"}, {"\ud800": 1}, "😀", "\u202e", "x" * 5_000),
)
PATIENT_KEYS = ("id", "active", "name", "birthDate", "communication", "telecom", "contact")
BOOKING_KEYS = ("status", "start", "participant")


def bundle(rng: Random, entries: int) -> Case:
    """A FHIR Bundle; ``people`` has the index of each entry that must be told, and no names.

    Told are every patient, every bad entry, and each booked appointment beyond the first of a
    sound patient; ``sound`` and ``wrong`` are the indexes of rows that surely are so.
    """
    patients = [_patient(rng, n) for n in range(max(1, entries // 3))]
    bookings = [_booking(rng, len(patients)) for _ in range(entries - len(patients))]
    whole = [*patients, *bookings]
    rng.shuffle(whole)
    case = Case(b"")
    _tell(case, whole)
    made = {"resourceType": "Bundle", "type": "collection", "entry": [one[0] for one in whole]}
    text = json.dumps(made, ensure_ascii=False)
    if rng.random() < 0.5 or re.search("[\ud800-\udfff]", text):
        text = json.dumps(made)
    case.content = text.encode("utf-8")
    return case


def _tell(case: Case, whole: list[tuple[Any, str, str]]) -> None:
    """Which entries must have a row. An entry comes with its state and the person's key."""
    sound = {key for one, state, key in whole if state == "sound" and _is_patient(one)}
    bookings: dict[str, list[tuple[datetime, int]]] = {}
    for index, (one, state, key) in enumerate(whole):
        if _is_patient(one) or state == "wrong":
            case.people.append((index, key))
            {"sound": case.sound, "wrong": case.wrong}.get(state, set()).add(index)
        elif state == "sound" and key in sound:
            start = datetime.fromisoformat(one["resource"]["start"])
            bookings.setdefault(key, []).append((start, index))
    # Whose every appointment is called off gets nothing; a bad one beside it may count or not.
    off = {key for one, state, key in whole if state == "passed"}
    case.sound -= {
        index
        for index, (one, _, key) in enumerate(whole)
        if _is_patient(one) and key in off and key not in bookings
    }
    for found in bookings.values():  # the first stands on the patient's own row
        case.people += [(index, "") for _, index in sorted(found)[1:]]
        case.sound |= {index for _, index in sorted(found)[1:]}


def _is_patient(entry: Any) -> bool:
    return bool(entry["resource"]["resourceType"] == "Patient")


def _patient(rng: Random, number: int) -> tuple[Any, str, str]:
    key = f"Patient/p{number}"
    resource: dict[str, Any] = {
        "resourceType": "Patient",
        "id": f"p{number}",
        "name": [{"text": rng.choice(NAMES)}],
        "communication": [{"language": {"coding": [{"code": rng.choice(("en", "es", "ar"))}]}}],
    }
    if rng.random() < 0.3:
        resource["birthDate"] = rng.choice(("1961-04-17", "1961", "1961-04"))
    draw = rng.random()
    if draw < 0.6:
        return {"resource": resource}, "sound", key
    if draw < 0.8:
        change = rng.choice(
            [
                {"name": [{"text": rng.choice(UNPRINTABLE)}]},
                {"name": [{"text": "half \ud800"}]},
                {"birthDate": rng.choice(NO_DAYS)},
                {"active": False},
                {"deceasedBoolean": True},
                {"name": []},
            ]
        )
        return {"resource": {**resource, **change}}, "wrong", key
    changed = {**resource, rng.choice(PATIENT_KEYS[1:]): rng.choice(JUNK)}
    return {"resource": changed}, "either", key


def _booking(rng: Random, patients: int) -> tuple[Any, str, str]:
    key = f"Patient/p{rng.randrange(patients)}"
    resource: dict[str, Any] = {
        "resourceType": "Appointment",
        "status": "booked",
        "start": rng.choice(STARTS),
        "participant": [{"actor": {"reference": key}}],
    }
    draw = rng.random()
    if draw < 0.5:
        return {"resource": resource}, "sound", key
    if draw < 0.6:
        return {"resource": {**resource, "status": rng.choice(STATUSES[3:])}}, "passed", key
    if draw < 0.7:
        lost = [{"actor": {"reference": f"Patient/q{patients}"}}]
        return {"resource": {**resource, "participant": lost}}, "wrong", key
    if draw < 0.9:
        return {"resource": {**resource, "start": rng.choice(NO_STARTS)}}, "wrong", key
    changed: dict[str, Any] = {**resource, rng.choice(BOOKING_KEYS): rng.choice(JUNK)}
    return {"resource": changed}, "wrong", key


BYTES = (b"\0", b"\xff", b"\xfe\xff", b"\xef\xbb\xbf", b'"', b"'", b"\r", b"\n", b"\\", b"[", b"{")
WORDS = (b"nan", b"-inf", b"1e999", b"9" * 5_000, b"[" * 3_000, b"\\ud800", b"\xed\xa0\x80", b"=1")


def mutated(rng: Random, whole: bytes) -> bytes:
    """The same file after some accidents: bytes lost, doubled, changed, put in, or cut off."""
    found = bytearray(whole)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(found) + 1)
        to = min(len(found), at + rng.choice((1, 1, 2, 8, 40)))
        act = rng.randrange(7)
        if act == 0:
            del found[at:to]
        elif act == 1:
            found[at:at] = found[at:to]
        elif act == 2 and at < len(found):
            found[at] ^= 1 << rng.randrange(8)
        elif act == 3:
            found[at:at] = rng.choice((*BYTES, *WORDS))
        elif act == 4:
            found[at:to] = rng.choice(WORDS)
        elif act == 5 and rng.random() < 0.2:
            del found[at:]
        elif act == 6:
            found = bytearray(_swapped(rng, bytes(found)))
    return bytes(found)


def _swapped(rng: Random, whole: bytes) -> bytes:
    """A value put where another was, between marks of the three kinds of file."""
    spots = [found.span(1) for found in re.finditer(rb"[=:,]\s*([^=:,\n\[\]{}]+)", whole)]
    if len(spots) < 2:
        return whole
    (one, two), (start, end) = rng.sample(spots, 2)
    return whole[:start] + whole[one:two] + whole[end:]


def accidents(rng: Random, wholes: list[bytes], count: int) -> Iterator[bytes]:
    """This many damaged copies of whole files."""
    for _ in range(count):
        yield mutated(rng, rng.choice(wholes))
