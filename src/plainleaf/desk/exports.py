"""Tables for other programs: numbers a machine can dial, cells that no spreadsheet computes."""

import csv
import re
from collections.abc import Iterable, Sequence
from io import StringIO

import phonenumbers

from plainleaf.errors import FactsProblem, PaperProblem

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+\uff0b]?[\d\s()./\u00b7\u2010-\u2015-]+")
_GLOBAL = re.compile(r"\+[1-9][0-9]{4,14}")


def dialled(number: str, country: str) -> str:
    """A phone number in the global form of E.164 (``+13035550151``), read as in a country.

    Raises FactsProblem for a text that is no whole number: one without its area code as well.
    """
    possible = phonenumbers.ValidationResult.IS_POSSIBLE
    try:
        parsed = phonenumbers.parse(number, country) if _NUMBER.fullmatch(number) else None
    except phonenumbers.NumberParseException:
        parsed = None
    if parsed is None or phonenumbers.is_possible_number_with_reason(parsed) != possible:
        raise FactsProblem(
            f"The phone number '{number[:40]}' cannot be dialled.",
            "A message to a wrong number tells somebody else of the visit, or nobody.",
            "Write one number with its area code, as in '+1 303 555 0151', without any other word.",
        )
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


def not_computed(text: str) -> str:
    """A text that is sent as it stands. Raises PaperProblem when a spreadsheet would compute it."""
    if text.startswith(_FORMULA):
        raise PaperProblem(
            f"The text begins with '{text[0]}', which a spreadsheet takes for a formula.",
            "It would be sent with something else in its place.",
            "Set another name for texts in practice.toml, as 'called' under [reminders].",
        )
    return text


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A CSV file (RFC 4180) in UTF-8.

    A cell that a spreadsheet would compute gets an apostrophe before it. Numbers of E.164 are left
    as they are: nothing in ``+`` and digits can be computed, and whoever sends messages needs them.
    """
    stream = StringIO()
    # With both signs in its line end, the module quotes a cell that has either of them.
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([_guarded(cell) for cell in row] for row in rows)
    # The mark at the beginning lets a spreadsheet know that this is UTF-8.
    return stream.getvalue().encode("utf-8-sig")


def _guarded(cell: object) -> object:
    risky = isinstance(cell, str) and cell.startswith(_FORMULA) and not _GLOBAL.fullmatch(cell)
    return f"'{cell}" if risky else cell
