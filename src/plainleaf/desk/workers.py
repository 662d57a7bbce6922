"""Work shared out to an executor: any ``concurrent.futures.Executor`` will do.

Results come in the order of the jobs, and a dead worker is told as a known problem.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context
from typing import Any, TypeVar

from plainleaf.errors import OutputProblem, SettingsProblem

Job = TypeVar("Job")
Result = TypeVar("Result")

AHEAD = 32
"""How many jobs are out at once: enough to keep an office's machines busy, and results that wait
for an earlier one stay few."""

_ANSWER_SECONDS = "10s"


def in_order(
    executor: Executor, work: Callable[[Job], Result], jobs: Iterable[Job]
) -> Iterator[Result]:
    """The result of each job in the order of the jobs, whatever finishes first.

    Raises OutputProblem when a worker dies, and whatever the work itself raises.
    """
    out: deque[Future[Result]] = deque()
    try:
        for job in jobs:
            out.append(executor.submit(work, job))
            if len(out) == AHEAD:
                yield out.popleft().result()
        while out:
            yield out.popleft().result()
    except Exception as error:
        if _is_death(error):
            raise _dead(error) from error
        raise
    finally:
        for waiting in out:
            waiting.cancel()


def _is_death(error: Exception) -> bool:
    # What a scheduler raises for a lost worker comes from its own library, which may not be here.
    library = type(error).__module__.partition(".")[0]
    return isinstance(error, BrokenExecutor | CancelledError) or library == "distributed"


def _dead(error: Exception) -> OutputProblem:
    return OutputProblem(
        f"A worker stopped before its papers were made ({type(error).__name__}).",
        "Papers would be missing from the middle of the day, so none were written.",
        "Try again with fewer workers or without them; the machine may be short of memory.",
    )


@contextmanager
def processes(number: int) -> Iterator[Executor]:
    """So many processes on this machine, each begun afresh, the same on every system."""
    with ProcessPoolExecutor(number, mp_context=get_context("spawn")) as pool:
        yield pool


@contextmanager
def scheduler(address: str) -> Iterator[Executor]:
    """The workers behind a Dask scheduler. What is sent to them holds names and findings."""
    library = _distributed()
    try:
        client = library.Client(address, timeout=_ANSWER_SECONDS, set_as_default=False)
    except (OSError, ValueError) as error:
        raise SettingsProblem(
            f"No scheduler answers at '{address}'.",
            "Without it there is nobody to share the work with.",
            "Start it, correct the address, or leave '--scheduler' out.",
        ) from error
    with client, client.get_executor(pure=False) as executor:
        yield executor


def _distributed() -> Any:
    try:
        return import_module("distributed")
    except ImportError as error:
        raise SettingsProblem(
            "The library for a scheduler is not installed.",
            "Plainleaf does without it unless the work is shared out to other machines.",
            "Run: pip install 'plainleaf[dask]'",
        ) from error
