"""TOML files of the evidence: one ``[id]`` table for each entry, with exactly the known fields.

Each reader brings its own ``Wrong``, which makes its problem out of place, fault and remedy.
"""

import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from plainleaf.evidence.cells import Wrong

Entry = dict[str, Any]


def read_entries(path: Path, wrong: Wrong) -> Iterator[tuple[str, str, Entry]]:
    """Each entry of a file: the words that name its place, its id, its fields."""
    try:
        text = path.read_text(encoding="utf-8")
        tables = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise wrong(path.name, f"{error}", "Correct the file.") from error
    lines = {line.strip(): number for number, line in enumerate(text.splitlines(), 1)}
    for name, table in tables.items():
        where = f"{path.name} line {lines.get(f'[{name}]', '?')} ({name})"
        if not isinstance(table, dict):
            raise wrong(where, "it stands outside every entry", "Put it below the id of one.")
        yield where, name, table


def exactly(where: str, entry: Entry, wanted: Iterable[str], wrong: Wrong) -> None:
    """Raise what ``wrong`` makes unless an entry has all the wanted fields and no others."""
    names = set(wanted)
    missing, unknown = sorted(names - set(entry)), sorted(set(entry) - names)
    if missing:
        raise wrong(where, f"'{missing[0]}' is missing", "Fill it in.")
    if unknown:
        raise wrong(where, f"'{unknown[0]}' is no known field", "Take it out, or correct it.")
