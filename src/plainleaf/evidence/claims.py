"""Popular claims that the evidence does not carry, kept apart so that nobody prints them as facts.

A claim is no figure: it has no value, no unit and no printable form, and no paper can quote it.
``known`` and ``not_known`` are words; whoever wants the numbers looks up the rows in ``figures``.
"""

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args

from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.entries import exactly, read_entries

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
        _claim(where, name, table, figure_ids) for where, name, table in read_entries(path, _wrong)
    )


def _wrong(where: str, what: str, do: str) -> EvidenceProblem:
    return EvidenceProblem(f"{where}: {what}.", _TRUST, do)


def _claim(where: str, name: str, table: dict[str, Any], figure_ids: Collection[str]) -> Claim:
    exactly(where, table, set(Claim.__dataclass_fields__) - {"id"}, _wrong)
    for field in _WORDS:
        if not isinstance(table[field], str) or not table[field].strip():
            raise _wrong(where, f"'{field}' is not a sentence", "Write it in plain words.")
    for field in ("known", "not_known"):
        _without_digits(where, field, table[field])
    if table["verdict"] not in VERDICTS:
        raise _wrong(where, f"'{table['verdict']}' is no verdict", f"Use {', '.join(VERDICTS)}.")
    return Claim(id=name, **{**table, "figures": _ids(where, table["figures"], figure_ids)})


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
