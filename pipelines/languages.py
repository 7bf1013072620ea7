"""The option --language of commands."""

from __future__ import annotations

from pipelines.errors import StudyError
from schemas.crosswalk import LANGUAGES, Language


def known_language(language: str) -> Language:
    """The language as the schemas know it. Raises StudyError for another."""
    for known in LANGUAGES:
        if language == known:
            return known
    raise StudyError(f"--language: there is no '{language}'; one of {', '.join(LANGUAGES)}")
