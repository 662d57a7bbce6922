"""A table as programs for tables save it: its letters, the mark between its cells, broken lines.

One broken line spoils no other: it becomes a record that says why it could not be split.
"""

import csv
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

from babel.languages import get_official_languages

from plainleaf.errors import FactsProblem
from plainleaf.evidence.cells import delimiter_of

# Where all that people write fits into Windows-1252, which spreadsheets there save by themselves.
_WESTERN = frozenset(
    (
        *("af", "ca", "cy", "da", "de", "en", "es", "eu", "fi", "fil", "fo", "fr", "ga", "gl"),
        *("haw", "ht", "id", "is", "it", "lb", "ms", "nb", "nl", "nn", "no", "pt", "sv", "sw"),
    )
)
_WORKBOOK = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")  # .xlsx and .ods; .xls
_WHY = "Somebody on it could be left out without anyone knowing."
_SAVE = "Save the table as CSV in UTF-8 and try again."


@dataclass(frozen=True)
class Record:
    """One row: the line of the file on which it ends, its cells, or why it cannot be split."""

    line: int
    cells: tuple[str, ...]
    broken: str = ""


@dataclass(frozen=True)
class Saved:
    """A table: its headings, its rows, and what the desk should know about how it was read."""

    heads: tuple[str, ...]
    rows: tuple[Record, ...]
    notes: tuple[str, ...] = ()


def opened(path: Path, country: str = "") -> Saved:
    """The table in a CSV file, in UTF-8, UTF-16 or, where the country writes so, Windows-1252.

    Blank lines before the headings and a line such as ``sep=;`` are passed over. Raises
    FactsProblem when the file as a whole cannot be understood.
    """
    name = path.name or str(path)
    text, notes = _text(name, _bytes(path, name), country)
    text = text.replace("\x00", "").replace("\r\n", "\n").replace("\r", "\n")
    # Only a line end ends a line: splitlines would also cut a name at marks such as U+2028.
    lines = list(StringIO(text, newline=""))
    told = re.fullmatch(r"sep=(.)\s*", lines[0], re.IGNORECASE) if lines else None
    start = 1 if told else 0
    delimiter = told[1] if told else _delimiter("".join(lines))
    records = _records(lines, start, delimiter)
    heads = next((one for one in records if any(map(str.strip, one.cells))), Record(1, ()))
    if heads.broken:
        raise unreadable(name, f"the line of headings, line {heads.line}, {heads.broken}")
    return Saved(heads.cells, tuple(_whole(records, len(heads.cells))), notes)


def unreadable(file: str, why: str, do: str = _SAVE) -> FactsProblem:
    """The problem with a list that cannot be read at all."""
    return FactsProblem(f"{file} cannot be read as a list: {why}.", _WHY, do)


def _bytes(path: Path, name: str) -> bytes:
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        where = path.parent.resolve().name or "this folder"
        raise unreadable(
            name, f"there is no such file in {where}", "Correct its name or its folder."
        ) from error
    except OSError as error:
        why = "it is a folder" if path.is_dir() else f"it cannot be opened ({error.strerror})"
        raise unreadable(name, why, "Name the CSV file itself.") from error
    if content.startswith(_WORKBOOK):
        raise unreadable(name, "it is a workbook and not a CSV file")
    return content


def _text(name: str, content: bytes, country: str) -> tuple[str, tuple[str, ...]]:
    """The letters of a file, and a note when they were not in UTF-8."""
    if wide := _wide(content):
        with suppress(UnicodeDecodeError):
            return content.decode(wide), ()
        raise unreadable(name, "some of its letters are damaged (UTF-16)")
    with suppress(UnicodeDecodeError):
        return content.decode("utf-8-sig"), ()
    if _writes_western(country):
        with suppress(UnicodeDecodeError):
            text = content.decode("cp1252")
            return text, (_check_letters(text),)
    raise unreadable(name, "its letters are not in UTF-8, so names could come out wrong")


def _wide(content: bytes) -> str:
    """The name of UTF-16, as it is marked or as every second byte tells; empty for others."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    begin = content[:200]
    for ending, at in (("le", 1), ("be", 0)):
        if begin and begin[at::2].count(0) * 5 > len(begin) * 2:
            return f"utf-16-{ending}"
    return ""


def _writes_western(country: str) -> bool:
    spoken = get_official_languages(country, de_facto=True) if country else ()
    return bool(spoken) and set(spoken) <= _WESTERN


def _check_letters(text: str) -> str:
    odd = re.findall(r"\w*[^\x00-\x7f]+\w*", text)
    shown = ", ".join(f"'{one}'" for one in dict.fromkeys(odd[:3]))
    return (
        "The list is not in UTF-8 and was read as Windows-1252: look whether names have the right"
        f" letters, such as {shown}."
    )


def _delimiter(text: str) -> str:
    # Blank rows may come first; a heading in quotation marks may have commas and two lines.
    begun = re.sub(r"\A(?:[ ,;\t]*\n)+", "", text)
    return delimiter_of(re.sub('"[^"]*"', "", begun).partition("\n")[0])


def _records(lines: list[str], start: int, delimiter: str) -> Iterator[Record]:
    """The rows from a line on. After a broken one, reading begins again on the line below it."""
    doubtful = 0
    while start < len(lines):
        reader = csv.reader(
            lines[start:], delimiter=delimiter, strict=True, skipinitialspace=delimiter != " "
        )
        before = 0
        try:
            for cells in reader:
                line, before = start + reader.line_num, reader.line_num
                yield Record(line, tuple(cells), "?" if line <= doubtful else "")
            return
        except csv.Error:
            # The mark may have swallowed whole rows on its way to the next one.
            doubtful = max(doubtful, start + reader.line_num)
            start += before + 1
            bare = lines[start - 1].rstrip("\n").replace('"', "")
            yield Record(start, tuple(bare.split(delimiter)), 'has a quotation mark (") too many')


def _whole(records: Iterator[Record], width: int) -> Iterator[Record]:
    """The rows; a doubtful one counts only when it has all its cells."""
    for one in records:
        if one.broken != "?":
            yield one
        elif len(one.cells) >= width and not any('"' in cell for cell in one.cells):
            yield Record(one.line, one.cells)
        elif any(map(str.strip, one.cells)):
            yield Record(one.line, one.cells, "may be a piece of a line above it")
