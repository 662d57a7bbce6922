"""Tables and progress on a terminal. Loaded when first needed: one paper needs none of it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

_PIPE_WIDTH = 170


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], title: str = "") -> None:
    """Print a table; cells are shown literally."""
    grid = Table(title=title or None, title_justify="left")
    for head in heads:
        grid.add_column(head, overflow="fold")
    for row in rows:
        grid.add_row(*(Text(cell) for cell in row))
    console = Console()
    # A pipe has no width of its own; what reads it can take long lines.
    Console(width=console.width if console.is_terminal else _PIPE_WIDTH).print(grid)


@contextmanager
def progress(words: str) -> Iterator[Callable[[str], None]]:
    """A line that shows what is being made, on terminals only."""
    console = Console(stderr=True)
    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        task = bar.add_task(words)
        yield lambda name: bar.update(task, advance=1, description=f"{words}: {name}")
