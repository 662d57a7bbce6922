"""A day made by several workers: the same bytes, and a worker that dies leaves nothing."""

import os
import pickle
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from conftest import WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk, days, workers
from plainleaf.desk.days import day
from plainleaf.desk.packed import packed, unpacked
from plainleaf.errors import ExitCode, FactsProblem, OutputProblem, Problem, SettingsProblem
from plainleaf.office.people import read_list
from plainleaf.office.practice import Practice

DEMO = paths.templates() / "demo" / "day.csv"


class Backwards(Executor):
    """Runs what it was given only when a result is asked for, the last job first."""

    def __init__(self) -> None:
        self.waiting: list[Callable[[], None]] = []

    def submit(self, work: Any, /, *words: Any, **named: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.waiting.append(lambda: future.set_result(work(*words, **named)))
        wait = future.result

        def result(timeout: float | None = None) -> Any:
            while self.waiting:
                self.waiting.pop()()
            return wait(timeout)

        future.result = result  # type: ignore[method-assign]
        return future


@contextmanager
def dask(own_processes: bool) -> Iterator[Any]:
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=1,
        threads_per_worker=2,
        processes=own_processes,
        dashboard_address=None,
        silence_logs=50,
    ) as cluster:
        yield cluster


def content(desk: Desk, folder: Path, executor: Executor | None, each: bool) -> dict[str, bytes]:
    told: list[str] = []
    out = folder if each else folder / "day.pdf"
    result = day(desk, folder.parent / "list.csv", (), out, "", told.append, executor, each)
    assert told == [row.name for row in read_list(folder.parent / "list.csv")]
    lines = [f"{one.line} {one.paper} {one.problem}" for one in (*result.left_out, *result.gaps)]
    said = "\n".join((*result.printed, *lines)).encode()
    return {"said": said} | {file.name: file.read_bytes() for file in result.files}


@pytest.fixture
def listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a list that takes several jobs, one of them with somebody left out."""
    monkeypatch.setattr(days, "WHOLE_SIDES", 4)
    monkeypatch.setattr(days, "PART_SIDES", 8)
    monkeypatch.setattr(days, "EACH_PEOPLE", 2)
    text = DEMO.read_text("utf-8").rstrip() + "\nNo Such Tongue,,xx\nBad Day,,en,yesterday\n"
    (tmp_path / "list.csv").write_text(text, "utf-8")
    return tmp_path


@pytest.mark.parametrize("each", [False, True], ids=["bound", "each"])
def test_workers_make_the_same_bytes(listed: Path, practice: Practice, each: bool) -> None:
    desk = Desk(practice, WEDNESDAY)
    alone = content(desk, listed / "alone", None, each)
    assert len(alone) > 3
    assert b"9 " in alone["said"]
    assert b"10 " in alone["said"]
    assert content(desk, listed / "backwards", Backwards(), each) == alone
    with ThreadPoolExecutor(3) as threads:
        assert content(desk, listed / "threads", threads, each) == alone
    with workers.processes(2) as pool:
        assert content(desk, listed / "processes", pool, each) == alone


@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("own_processes", [False, True], ids=["threads", "processes"])
def test_a_dask_scheduler_makes_the_same_bytes(
    listed: Path, practice: Practice, own_processes: bool
) -> None:
    desk = Desk(practice, WEDNESDAY)
    alone = content(desk, listed / "alone", None, True)
    with dask(own_processes) as cluster, workers.scheduler(cluster.scheduler_address) as executor:
        assert content(desk, listed / "dask", executor, True) == alone


def test_a_worker_needs_no_file_of_the_practice(tmp_path: Path, practice: Practice) -> None:
    office = tmp_path / "office"
    shutil.copytree(paths.locales() / "de", office / "locales" / "so")
    desk = Desk(practice, WEDNESDAY, office)
    here = desk.page("introduction", None, "so")
    content = packed(desk)
    shutil.rmtree(office)
    with workers.processes(1) as pool:
        there = pool.submit(page_in_worker, content).result()
    assert there == here


def page_in_worker(content: bytes) -> Any:
    return unpacked(content).page("introduction", None, "so")


class Deadly(Executor):
    """Hands the first job on, and ends the worker that takes the second."""

    def __init__(self, pool: Executor) -> None:
        self.pool, self.count = pool, 0

    def submit(self, work: Any, /, *words: Any, **named: Any) -> Future[Any]:
        self.count += 1
        if self.count == 2:
            return self.pool.submit(os._exit, 9)
        return self.pool.submit(work, *words, **named)


def test_a_worker_that_dies_is_a_known_problem_and_leaves_nothing(
    listed: Path, practice: Practice
) -> None:
    with (
        ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool,
        pytest.raises(OutputProblem) as caught,
    ):
        content(Desk(practice, WEDNESDAY), listed / "dead", Deadly(pool), True)
    assert "BrokenProcessPool" in caught.value.found
    assert caught.value.why
    assert "fewer workers" in caught.value.do
    assert [one.name for one in listed.iterdir()] == ["list.csv"]


@pytest.mark.filterwarnings("default")
def test_a_dask_worker_that_dies_is_a_known_problem(listed: Path, practice: Practice) -> None:
    import dask as library

    settings = {"distributed.scheduler.allowed-failures": 0}
    with (
        library.config.set(settings),
        dask(True) as cluster,
        workers.scheduler(cluster.scheduler_address) as executor,
        pytest.raises(OutputProblem, match="KilledWorker"),
    ):
        content(Desk(practice, WEDNESDAY), listed / "dead", Deadly(executor), True)
    assert [one.name for one in listed.iterdir()] == ["list.csv"]


def test_a_fault_of_our_own_is_no_known_problem() -> None:
    with ThreadPoolExecutor(1) as pool, pytest.raises(ZeroDivisionError):
        list(workers.in_order(pool, lambda one: 1 // one, [1, 0]))


def test_results_come_in_order_and_few_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "AHEAD", 3)
    asked: list[int] = []

    def jobs() -> Iterator[int]:
        for number in range(20):
            asked.append(number)
            yield number

    with ThreadPoolExecutor(2) as pool:
        found = workers.in_order(pool, lambda one: one * one, jobs())
        assert next(found) == 0
        assert asked == [0, 1, 2], "no more than three are out"
        assert list(found) == [one * one for one in range(1, 20)]


def test_a_problem_keeps_its_sentences_on_the_way_from_another_process() -> None:
    problem = pickle.loads(pickle.dumps(FactsProblem("Found.", "Why.", "Do.")))
    assert isinstance(problem, FactsProblem)
    assert (problem.found, problem.why, problem.do) == ("Found.", "Why.", "Do.")
    assert str(problem) == "Found. Why. Do."


def test_without_the_library_a_scheduler_is_refused_with_the_command(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(SettingsProblem) as caught, workers.scheduler("tcp://127.0.0.1:1"):
        pass
    assert "pip install 'plainleaf[dask]'" in caught.value.do


@pytest.mark.filterwarnings("default")
def test_a_scheduler_that_does_not_answer_is_a_known_problem(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(workers, "_ANSWER_SECONDS", "1s")
    for address in ("tcp://127.0.0.1:9", "nowhere at all"):
        with pytest.raises(Problem, match="No scheduler answers"), workers.scheduler(address):
            pass


def command(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    (folder / "practice.toml").write_bytes(DEMO.with_name("practice.toml").read_bytes())
    program = "from plainleaf.faces.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", program, "day", "list.csv", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_command_takes_workers(listed: Path) -> None:
    done = command(listed, "--each", "--out", "out", "--workers", "2")
    assert done.returncode == ExitCode.LEFT_OUT, done.stderr
    assert "13 files into out: 7 people" in done.stdout
    assert "Left out: 2." in done.stdout
    assert done.stderr == ""


def test_the_command_says_which_papers_are_missing_and_where_cards_are(listed: Path) -> None:
    done = command(listed, "--paper", "reminder-card", "--paper", "dark-area", "--format", "txt")
    assert done.returncode == ExitCode.LEFT_OUT, done.stderr
    assert "Wrote day.txt, day-cards.txt: 7 people" in done.stdout
    assert "Cards, and the parts of a long day, are files of their own." in done.stdout
    assert "Papers missing from somebody's set: 2." in done.stdout
    assert (
        "line 8, Hanne Okoro: The paper 'dark-area' lacks an area that looked dark" in done.stdout
    )
