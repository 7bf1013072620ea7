"""The comment at the head of a file of declarations: what it holds, and where that comes from."""

from __future__ import annotations

from itertools import takewhile


def note_of(toml: str) -> str:
    """The comment with which a TOML text begins, as one line, and one more for each item that
    begins with a dash; empty where there is none."""
    comment = takewhile(lambda line: line.startswith("#"), toml.splitlines())
    lines = [line.lstrip("#").strip() for line in comment]
    return "".join(f"\n{line}" if line.startswith("- ") else f" {line}" for line in lines).strip()
