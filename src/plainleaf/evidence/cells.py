"""Tables that people keep by hand as CSV: what their readers share.

One row is one line of the file, so that a stray quotation mark spoils its own line and no other.
Each reader brings its own ``Wrong``: from place, what is wrong and what to do to its problem.
"""

import csv
import re
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path

from plainleaf.errors import Problem

Wrong = Callable[[str, str, str], Problem]

_ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})


def read_lines(path: Path, wrong: Wrong) -> list[tuple[int, str]]:
    """The lines that are not empty, with their numbers; at least one.

    Raises what ``wrong`` makes.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise wrong(
            path.name,
            f"it cannot be read as a table ({error.__class__.__name__})",
            "Save the table as CSV in UTF-8 and try again.",
        ) from error
    numbered = enumerate(re.split(r"\r\n|\r|\n", text), 1)
    lines = [(number, line) for number, line in numbered if line.strip()]
    if not lines:
        raise wrong(path.name, "it is empty", "Save the table again, with its line of headings.")
    return lines


def delimiter_of(headings: str) -> str:
    """What stands between the cells: comma, semicolon or tab, whichever the headings have most."""
    return max(",;\t", key=headings.count)


def split(where: str, text: str, delimiter: str, wrong: Wrong) -> list[str]:
    """The cells of one line. Raises what ``wrong`` makes."""
    try:
        return next(csv.reader([text], delimiter=delimiter, strict=True, skipinitialspace=True))
    except csv.Error as error:
        raise wrong(
            where,
            f"the line cannot be split into cells ({error})",
            "Close each quotation mark on its own line; write one row on one line.",
        ) from error


def plain_words(text: str) -> str:
    """Small letters with single spaces, where people also write hyphens or underscores."""
    return re.sub(r"[\s_\-]+", " ", text).strip().lower()


def iso_day(text: str) -> date | None:
    """A day of the calendar written as YYYY-MM-DD; None for anything else."""
    if _ISO_DAY.fullmatch(text):
        with suppress(ValueError):
            return date.fromisoformat(text)
    return None


def yes_or_no(text: str) -> bool | None:
    """What a cell says; None when it says neither, and an empty cell says neither."""
    plain = text.lower()
    return plain in _YES if plain in _YES | _NO else None
