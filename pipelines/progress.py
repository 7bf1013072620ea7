"""How far a merge is: a bar on a terminal, plain lines elsewhere, nothing where asked for JSON."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn


class Reporter:
    """Says nothing; the base of those that do."""

    def begin(self, uploads: int) -> None:
        """How many uploads there are to ingest."""

    def ingested(self, site: str, week: str) -> None:
        """One of them is done."""

    def step(self, text: str) -> None:
        """What comes next."""


class PlainLines(Reporter):
    """One line a step."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def begin(self, uploads: int) -> None:
        self._console.print(f"{uploads} uploads to ingest")

    def ingested(self, site: str, week: str) -> None:
        self._console.print(f"ingested {site} {week}", highlight=False)

    def step(self, text: str) -> None:
        self._console.print(text, highlight=False)


class Bar(Reporter):
    """A bar that fills as uploads are ingested."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._task = progress.add_task("starting", total=None)

    def begin(self, uploads: int) -> None:
        self._progress.update(self._task, description="ingesting", total=uploads)

    def ingested(self, site: str, week: str) -> None:
        self._progress.update(self._task, advance=1, description=f"{site} {week}")

    def step(self, text: str) -> None:
        self._progress.update(self._task, description=text)


# The flow is started by Prefect with parameters that it stores; the reporter is none of them.
_REPORTER: ContextVar[Reporter] = ContextVar("reporter")


def reporter() -> Reporter:
    """The reporter of the merge that runs, or one that says nothing."""
    return _REPORTER.get(Reporter())


@contextmanager
def _chosen(reporter: Reporter) -> Iterator[None]:
    token = _REPORTER.set(reporter)
    try:
        yield
    finally:
        _REPORTER.reset(token)


@contextmanager
def reporting(*, quiet: bool) -> Iterator[None]:
    """Chooses how the merge within is reported, on standard error."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        with _chosen(Reporter() if quiet else PlainLines(console)):
            yield
        return
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(),
               TimeElapsedColumn())  # fmt: skip
    with Progress(*columns, console=console, transient=True) as bar, _chosen(Bar(bar)):
        yield
