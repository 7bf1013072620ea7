"""The text that a cell of an .ods document shows."""

from __future__ import annotations

_TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0 "
_PARAGRAPH = f"{_TEXT}p"
SPACES = f"{_TEXT}s"
SPACES_COUNT = f"{_TEXT}c"
_NOTE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 annotation"
# Calamine leaves these out, and what stands on both sides of them becomes one word.
_LEFT_OUT = {f"{_TEXT}tab": "\t", f"{_TEXT}line-break": "\n"}


class ShownText:
    """Follows the elements inside one cell after another; notes on the cell are no part of it."""

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        """Begin a cell."""
        self._parts: list[str] = []
        self._has_paragraph = False
        self._open_notes = 0
        self.has_left_out = False

    def begin(self, tag: str) -> None:
        if tag == _NOTE:
            self._open_notes += 1
        elif tag == _PARAGRAPH:
            self.add("\n" if self._has_paragraph else "")
            self._has_paragraph |= not self._open_notes
        elif tag in _LEFT_OUT:
            self.add(_LEFT_OUT[tag])
            self.has_left_out |= not self._open_notes

    def end(self, tag: str) -> None:
        if tag == _NOTE:
            self._open_notes -= 1

    def add(self, text: str) -> None:
        if not self._open_notes:
            self._parts.append(text)

    def __str__(self) -> str:
        return "".join(self._parts)
