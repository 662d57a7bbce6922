"""Putting finished files where they belong: all of them whole, or none."""

import logging
import os
import re
import secrets
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from plainleaf.errors import OutputProblem

log = logging.getLogger("plainleaf")


def put(out: Path, content: bytes, mode: int = 0o666) -> Path:
    """Write a file whole or not at all. Raises OutputProblem when the place will not take it."""
    return put_all([(out, content)], mode)[0]


def put_all(files: Iterable[tuple[Path, bytes]], mode: int = 0o666) -> list[Path]:
    """Write files whole, all of them or none; those that were there before are replaced.

    Everything is written beside its place first, and only then named. When one name is refused, the
    others are what they were before. A file that is replaced keeps its mode; a new one has ``mode``
    without what the user's mask forbids. Raises OutputProblem naming the first place that will not
    take its file.
    """
    written: list[tuple[Path, Path]] = []
    out = Path()
    try:
        with _undone_unless_whole() as moved:
            for out, content in files:
                written.append((_beside(out, content, mode), out))
            for part, out in written:
                moved(part, out)
    except OSError as error:
        raise OutputProblem(
            f"{out.name} cannot be written ({error.strerror}).",
            "It is not where you want it, so it counts as not made; nothing else was changed.",
            "Choose another place, or close the program that holds the file.",
        ) from error
    finally:
        for part, _ in written:
            part.unlink(missing_ok=True)
    for _, out in written:
        log.debug("7 tell: %s", out)
    return [out for _, out in written]


def _beside(out: Path, content: bytes, mode: int) -> Path:
    """A file of that content in the folder of ``out``, never readable by more than ``out`` is."""
    out.parent.mkdir(parents=True, exist_ok=True)
    old = stat.S_IMODE(out.stat().st_mode) if out.exists() else None
    part = _hidden(out)
    # The system takes the user's mask off the mode of a new file.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY
    handle = os.open(part, flags, mode if old is None else old)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        if old is not None:
            part.chmod(old)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    return part


_BINARY = getattr(os, "O_BINARY", 0)
"""What Windows needs so that no line end is changed."""


def _hidden(out: Path) -> Path:
    return out.with_name(f".{out.name}.{secrets.token_hex(4)}")


@contextmanager
def _undone_unless_whole() -> Iterator["_Moves"]:
    """Moves of files to their names that are taken back when anything goes wrong among them."""
    moves = _Moves()
    try:
        yield moves
    except BaseException:
        moves.undo()
        raise
    moves.forget()


class _Moves:
    """The moves so far: each name, and where the file that had it before lies now."""

    def __init__(self) -> None:
        self.done: list[tuple[Path, Path | None]] = []

    def __call__(self, part: Path, out: Path) -> None:
        if out.is_dir():
            raise IsADirectoryError(0, "there is a folder of that name")
        kept = _kept(out) if out.exists() else None
        self.done.append((out, kept))
        part.replace(out)

    def undo(self) -> None:
        """Give every name the file that it had before, or none."""
        for out, kept in reversed(self.done):
            if kept:
                kept.replace(out)
            else:
                out.unlink(missing_ok=True)

    def forget(self) -> None:
        """Let go of the files that were replaced."""
        for _, kept in self.done:
            if kept:
                kept.unlink(missing_ok=True)


def _kept(out: Path) -> Path:
    """A second name for a file that is about to be replaced: nothing is missing in between."""
    kept = _hidden(out)
    try:
        kept.hardlink_to(out)
    except OSError:  # Not every file system has second names.
        out.replace(kept)
    return kept


def earlier(folder: Path, pattern: str, new: Iterable[Path] = ()) -> list[str]:
    """The names in a folder that match a pattern and are not among the new files, in order."""
    if not folder.is_dir():
        return []
    mine = {file.name for file in new}
    names = sorted(file.name for file in folder.iterdir())
    return [name for name in names if re.fullmatch(pattern, name) and name not in mine]


def none_of_an_earlier_run(folder: Path, pattern: str, new: Iterable[Path] = ()) -> None:
    """Raises OutputProblem when files of an earlier run would lie among the new ones."""
    found = earlier(folder, pattern, new)
    if found:
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        raise OutputProblem(
            f"{folder.name or 'The folder'} still holds {found[0]}{more} of an earlier run.",
            "They would lie among the new files and could be handed out or sent again.",
            "Move them away or delete them, or write into another folder.",
        )
