"""Popular claims that the evidence does not carry, kept apart so that nobody prints them as facts.

A claim is no figure: it has no value, no unit and no printable form, and no paper can quote it.
``known`` and ``not_known`` are words; whoever wants the numbers looks up the rows in ``figures``.
"""

import tomllib
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args

from plainleaf.errors import EvidenceProblem

Verdict = Literal["not carried", "carried only with its setting", "changed definition"]
VERDICTS: tuple[str, ...] = get_args(Verdict)
_WORDS = ("claim", "known", "not_known")
_TRUST = "A claim with a mistake in it could be taken for something that is known."


@dataclass(frozen=True)
class Claim:
    """One popular claim in our own words, and why it is not carried.

    ``figures`` are the ids of the rows that bear on it. They may be remembered rows: no proof.
    """

    id: str
    claim: str
    known: str
    not_known: str
    verdict: Verdict
    figures: tuple[str, ...]


def read_claims(path: Path, figure_ids: Collection[str]) -> tuple[Claim, ...]:
    """All claims of the file, in order. ``figure_ids`` are the ids that may be named.

    Raises EvidenceProblem naming file, line and id.
    """
    return tuple(
        _claim(where, name, table, figure_ids) for where, name, table in _named_tables(path)
    )


def _wrong(where: str, what: str, do: str) -> EvidenceProblem:
    return EvidenceProblem(f"{where}: {what}.", _TRUST, do)


def _named_tables(path: Path) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Each ``[id]`` table with the words that name its place."""
    try:
        text = path.read_text(encoding="utf-8")
        tables = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise _wrong(path.name, f"{error}", "Correct the file.") from error
    lines = {line.strip(): number for number, line in enumerate(text.splitlines(), 1)}
    for name, table in tables.items():
        where = f"{path.name} line {lines.get(f'[{name}]', '?')} ({name})"
        if not isinstance(table, dict):
            raise _wrong(where, "it stands outside every claim", "Put it below the id of one.")
        yield where, name, table


def _claim(where: str, name: str, table: dict[str, Any], figure_ids: Collection[str]) -> Claim:
    _fields(where, table)
    for field in _WORDS:
        if not isinstance(table[field], str) or not table[field].strip():
            raise _wrong(where, f"'{field}' is not a sentence", "Write it in plain words.")
    for field in ("known", "not_known"):
        _without_digits(where, field, table[field])
    if table["verdict"] not in VERDICTS:
        raise _wrong(where, f"'{table['verdict']}' is no verdict", f"Use {', '.join(VERDICTS)}.")
    return Claim(id=name, **{**table, "figures": _ids(where, table["figures"], figure_ids)})


def _fields(where: str, table: dict[str, Any]) -> None:
    wanted = set(Claim.__dataclass_fields__) - {"id"}
    missing, unknown = sorted(wanted - set(table)), sorted(set(table) - wanted)
    if missing:
        raise _wrong(where, f"'{missing[0]}' is missing", "Fill it in.")
    if unknown:
        raise _wrong(where, f"'{unknown[0]}' is no known field", "Take it out, or correct it.")


def _without_digits(where: str, field: str, text: str) -> None:
    # A typed number has no source and does not change when the row does.
    if any(char.isnumeric() for char in text):
        raise _wrong(
            where,
            f"a digit is typed into '{field}'",
            "Name the row in 'figures' and say it in words.",
        )


def _ids(where: str, names: object, figure_ids: Collection[str]) -> tuple[str, ...]:
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise _wrong(where, "'figures' is not a list of ids", "Write it as a list of quoted ids.")
    for name in names:
        if name not in figure_ids:
            raise _wrong(where, f"there is no figure '{name}'", "Correct the id, or add the row.")
    return tuple(names)
