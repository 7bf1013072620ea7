"""The entries of a vocabulary's file, for tests that go through all of them."""

import tomllib
from pathlib import Path


def entries(path: Path) -> list[tuple[str, str, str]]:
    """Code, language and word of every entry of a file."""
    return [
        (code, language, word)
        for code, by_language in tomllib.loads(path.read_text(encoding="utf-8")).items()
        for language, words in by_language.items()
        for word in words
    ]
