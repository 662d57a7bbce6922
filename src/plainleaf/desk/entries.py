"""Which calendar entry is whose: the same person's next visit keeps its entry when it is moved."""

import hashlib
import hmac
import json
import re
import secrets
from datetime import date
from pathlib import Path

from plainleaf.desk.files import put
from plainleaf.errors import SettingsProblem
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Person

KEY = "calendar.key"
"""The practice's own secret, beside practice.toml."""

_BEGAN = date(2020, 1, 1)


def calendar_key(folder: Path | None) -> bytes:
    """The secret in a practice's folder, made when there is none; empty without a folder.

    Without it an id could be confirmed by whoever guesses a name and a day of birth. Raises
    SettingsProblem when the file holds something else.
    """
    if folder is None:
        return b""
    file = folder / KEY
    if not file.exists():
        put(file, f"{secrets.token_hex(32)}\n".encode(), mode=0o600)
    text = file.read_bytes().strip()
    if not re.fullmatch(b"[0-9a-f]{64}", text):
        raise SettingsProblem(
            f"{KEY} beside practice.toml was changed.",
            "With another key every calendar entry would land in a calendar a second time.",
            "Put the old file back; if it is lost, delete this one, and a new one is made.",
        )
    return bytes.fromhex(text.decode())


def identity(person: Person) -> tuple[object, ...]:
    """What tells a person from all others on a list, as far as the list knows.

    The record number; else name and birth; else the name with every way to reach the person, since
    two people may have one name.
    """
    if person.record:
        return ("record", person.record.casefold())
    name = " ".join(person.name.casefold().split())
    if person.born:
        return (name, person.born.isoformat())
    return (name, person.phone, person.email, person.address)


def uid_seed(key: bytes, practice: Practice, person: Person) -> str:
    """What the id of a person's next visit is made of: nothing can be read out of it.

    The day is not in it, so that a visit that was moved replaces its entry; nor any setting but
    the practice's address on the web, so that another fee makes no second entry.
    """
    told = json.dumps([practice.links.website, *identity(person)], ensure_ascii=False)
    return hmac.new(key, told.encode(), hashlib.sha256).hexdigest()


def sequence_of(today: date, withdrawn: bool = False) -> int:
    """The number of an entry's version: higher on every later day (RFC 5545, 3.8.7.4).

    On one day, what withdraws an entry has a higher one than the entry itself.
    """
    return 2 * max((today - _BEGAN).days, 0) + withdrawn
