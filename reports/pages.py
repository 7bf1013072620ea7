"""The pages of a run that need no more than the run's view."""

from __future__ import annotations

from pathlib import Path

from reports.dictionary.page import dictionary_page
from reports.pooled_page import pooled_page
from reports.run_page import run_page
from reports.run_view import RunView

PAGES = {"index.html": run_page, "pooled.html": pooled_page, "dictionary.html": dictionary_page}


def write_pages(view: RunView, folder: Path) -> list[Path]:
    """Write index.html, pooled.html and dictionary.html into `folder`; their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, page in PAGES.items():
        path = folder / name
        path.write_text(page(view), encoding="utf-8", newline="\n")
        paths.append(path)
    return paths
