"""Finds the encoding of a text table.

A byte-order mark tells it, or zero bytes at every second place, or that the bytes are UTF-8. What
remains was written by Windows or by a Macintosh in the one-byte encoding of western Europe, and the
same byte is an accented letter in the one and a sign in the other. Which it was is told by whole
words: letters belong inside words, in the case of their neighbours; signs do not. (Statistical
detection, tried with charset-normalizer 3.5, names neither for tables of so few words.)
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass
from itertools import islice

from transforms.reading.workbook import UnreadableUpload

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_LOOKED_AT = 1 << 16
# Which of four bytes are zero in most signs of a table.
_ZERO_BYTES: dict[tuple[bool, ...], str] = {
    (False, True, False, True): "utf-16-le",
    (True, False, True, False): "utf-16-be",
    (False, True, True, True): "utf-32-le",
    (True, True, True, False): "utf-32-be",
}
_MOSTLY = 0.5

WINDOWS, MACINTOSH = "cp1252", "mac_roman"
_UNUSED_BY_WINDOWS = re.compile(rb"[\x81\x8d\x8f\x90\x9d]")
_WORDS_LOOKED_AT, _LONGEST_WORD = 50_000, 64
# More of the words' signs than this share out of place in both says: some other encoding.
_MOST_MISFITS = 0.25
# The other encoding is out of the question where it has so many times the misfits.
_CLEAR = 4
# No western language has so many accented letters in its words; other alphabets do.
_MOST_ACCENTED = 0.5

_NOT_TEXT = (
    "the text of the file is in no encoding that is read here; save it as 'CSV UTF-8' and send that"
)

_LOW = "àáâãäåæçèéêëìíîïñòóôõöøùúûüýÿßœ"
_HIGH = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜÝŸŒ"
_SMALL, _CAPITAL, _ANY = f"a-z{_LOW}", f"A-Z{_HIGH}", f"a-zA-Z{_LOW}{_HIGH}"
_FITTING = re.compile(
    rf"""
    (?: (?<![{_CAPITAL}0-9]) | (?<=(?<![{_ANY}])[{_CAPITAL}]) )  # among small letters
        (?: [àáâãäåæçèéêëìíîïñòóôõöøùûüý] | ú (?! il | u | d[eèé]m) | œ (?= il | u | d[eèé]m) )
        (?![{_CAPITAL}])
    | (?<=[{_SMALL}]) [ÿß]
    | (?<![{_ANY}0-9]) [{_HIGH}] | (?<=[{_CAPITAL}]) [{_HIGH}] (?![{_SMALL}])  # among capitals
    | (?<![{_ANY}]) (?: [cdjlmnstCDJLMNST] | [qQ]u) ’ (?= [aeiouyhAEIOUYHàâéèêëîïôœùÀÂÉÈÊÎÔŒ])
    | ’ (?= [st] (?![{_ANY}]))
    | [²³¹ºª°™®’”»›…] (?![{_ANY}]) | ° (?= C)                 # after what they belong to
    | (?<![{_ANY}0-9]) [«‹“„‘¿¡±≤≥≈≠§£€]                      # before it
    | [\u00b5\u00a0]
    | (?<![{_ANY}]) [^\u0000-\u007f{_LOW}{_HIGH}] (?![{_ANY}])  # apart from words
    """,
    re.VERBOSE,
)
_WORD = re.compile(
    rb"(?<![0-9A-Za-z'.\x80-\xff])[0-9A-Za-z'.]*+[\x80-\xff][0-9A-Za-z'.\x80-\xff]*+"
)


@dataclass(frozen=True)
class Decoded:
    """The text of a file, and whether no other encoding fits its bytes as well."""

    text: str
    encoding: str
    is_certain: bool = True


def decoded(content: bytes) -> Decoded:
    """The text. Raises UnreadableUpload where it is in none of the encodings known here."""
    marked = [encoding for mark, encoding in _MARKS if content.startswith(mark)]
    has_zeros = b"\0" in content[:_LOOKED_AT]
    encoding = marked[0] if marked else _by_zeros(content) if has_zeros else "utf-8"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        if marked or has_zeros:
            raise UnreadableUpload(_NOT_TEXT) from None
        return _of_one_byte(content)
    if "\0" in text:
        raise UnreadableUpload(_NOT_TEXT)
    return Decoded(text, encoding)


def _by_zeros(content: bytes) -> str:
    """The encoding of two or four bytes a sign, by which bytes of most signs are zero."""
    looked_at = content[: min(len(content), _LOOKED_AT) // 4 * 4]
    parts = [looked_at[place::4] for place in range(4)]
    zero = [part.count(0) / max(len(part), 1) for part in parts]
    encoding = _ZERO_BYTES.get(tuple(share > _MOSTLY for share in zero))
    if encoding is None:
        raise UnreadableUpload(_NOT_TEXT)
    return encoding


def _of_one_byte(content: bytes) -> Decoded:
    """The text as Windows or a Macintosh wrote it, whichever leaves fewer signs out of place."""
    looked_at = {found[0] for found in islice(_WORD.finditer(content), _WORDS_LOOKED_AT)}
    words = b" ".join(sorted(word for word in looked_at if len(word) <= _LONGEST_WORD))
    # Of equals the first, as the commoner.
    possible = (MACINTOSH,) if _UNUSED_BY_WINDOWS.search(content) else (WINDOWS, MACINTOSH)
    readings = {encoding: words.decode(encoding) for encoding in possible}
    misfits = {encoding: _misfits(text) for encoding, text in readings.items()}
    best = min(misfits, key=lambda encoding: misfits[encoding])
    if misfits[best] > _MOST_MISFITS * sum(byte >= 0x80 for byte in words):
        raise UnreadableUpload(_NOT_TEXT)
    is_certain = (
        bool(words)
        and not _is_other_alphabet(readings[best])
        and all(
            misfits[other] > _CLEAR * misfits[best] or readings[other] == readings[best]
            for other in readings
            if other != best
        )
    )
    return Decoded(content.decode(best), best, is_certain)


def _is_other_alphabet(words: str) -> bool:
    letters = [sign for sign in words if sign.isalpha()]
    return sum(not sign.isascii() for sign in letters) > _MOST_ACCENTED * len(letters)


def _misfits(words: str) -> int:
    """Number of signs that are out of place."""
    return sum(not sign.isascii() for sign in words) - len(_FITTING.findall(words))
