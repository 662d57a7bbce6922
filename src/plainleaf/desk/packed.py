"""A desk on its way to a worker that may not see the practice's folder.

What a desk reads once goes with it. The office's own languages are read from files all along, so
their files travel too, and the worker lays them out in a folder of its own.
"""

import pickle
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from plainleaf import paths
from plainleaf.desk.acts import Desk

_FOLDERS: list[TemporaryDirectory[str]] = []
"""Kept until the worker ends; each is emptied then."""


def packed(desk: Desk) -> bytes:
    """The desk with all that it read, and the files of the office's own languages."""
    _ = desk.tables, desk.results, desk.signatures, desk.figure_ids, desk.languages
    return pickle.dumps((desk, _own_files(desk.locales)))


def _own_files(folder: Path | None) -> dict[str, bytes]:
    if folder is None:
        return {}
    files = sorted(one for one in folder.rglob("*") if one.is_file())
    return {one.relative_to(folder).as_posix(): one.read_bytes() for one in files}


@lru_cache(maxsize=1)
def unpacked(content: bytes) -> Desk:
    """The desk in a worker, unpacked once for all its jobs. Our own bytes, from our own process."""
    desk: Desk
    desk, files = pickle.loads(content)
    if files:
        holder = TemporaryDirectory(prefix="plainleaf-")
        _FOLDERS.append(holder)
        desk.folder = Path(holder.name)
        desk.__dict__.pop("locales", None)  # it named the folder that may not be here
        for name, one in files.items():
            target = desk.folder / paths.OWN_LANGUAGES / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(one)
    return desk
