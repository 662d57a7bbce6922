"""What a list's reader should know, in lines on the screen: reasons, advice, how it was read."""

from collections.abc import Iterable, Sequence
from typing import Any

import typer

from plainleaf import desk


def day(result: Any, err: bool = False) -> None:
    """How a list was read, in which languages, who lacks what, and the advice."""
    notes((*result.notes, *result.remarks), err)
    left_out(result.left_out, err=err)
    left_out(result.gaps, "Papers missing from somebody's set", err)
    for one in result.advice:
        typer.echo(f"{one.where}, {one.name}: {one.words}", err=err)


def people(count: int) -> str:
    """How many people, in words."""
    return "1 person" if count == 1 else f"{count} people"


def notes(lines: Iterable[str], err: bool = False) -> None:
    """What was not read on a list, or read by a rule."""
    for one in lines:
        typer.echo(one, err=err)


def left_out(lost: Sequence[desk.LeftOut], words: str = "Left out", err: bool = False) -> None:
    """Everybody for whom something was not made, with the reason."""
    if lost:
        typer.echo(f"{words}: {len(lost)}.", err=err)
    for one in lost:
        typer.echo(f"  {one.where}, {one.name}: {one.problem}", err=err)


def advice(said: Iterable[Any]) -> None:
    """What a record gives cause to think about, beside what the command writes."""
    for one in said:
        typer.echo(one.words, err=True)
