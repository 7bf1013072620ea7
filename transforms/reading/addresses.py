"""Cell addresses in A1 notation, rows and columns counted from 1."""

from __future__ import annotations

from collections.abc import Iterable

_LETTERS = 26


def column_letters(column: int) -> str:
    """1 to "A", 27 to "AA"."""
    letters = ""
    while column:
        column, place = divmod(column - 1, _LETTERS)
        letters = chr(ord("A") + place) + letters
    return letters


def column_number(letters: str) -> int:
    """ "A" to 1, "AA" to 27."""
    number = 0
    for letter in letters:
        number = number * _LETTERS + ord(letter) - ord("A") + 1
    return number


def address(row: int, column: int) -> str:
    """(7, 4) to "D7"."""
    return f"{column_letters(column)}{row}"


def addresses(rows: Iterable[int], column: int) -> list[str]:
    """Addresses of several rows of one column."""
    letters = column_letters(column)
    return [f"{letters}{row}" for row in rows]
