"""The streams of a compound file, the container of .xls workbooks ([MS-CFB])."""

from __future__ import annotations

import struct
from collections.abc import Collection, Mapping

from transforms.reading.archive import DAMAGED
from transforms.reading.workbook import UnreadableUpload

_HEADER_SECTORS = 109
_LAST_REGULAR = 0xFFFFFFFA
_ENTRY = 128
_ROOT, _STREAM = 5, 2


def streams(content: bytes, wanted: Collection[str]) -> Mapping[str, bytes]:
    """Streams by name, those not wanted as b"". Raises UnreadableUpload for a damaged container.

    Every length is held against the file's own, as other readers ask for the memory it names.
    """
    try:
        return _streams(content, wanted)
    except (struct.error, IndexError, UnicodeDecodeError):
        raise UnreadableUpload(DAMAGED) from None


def _streams(content: bytes, wanted: Collection[str]) -> dict[str, bytes]:
    shift, mini_shift = struct.unpack_from("<HH", content, 30)
    tables, directory, cutoff, mini_table, mini_tables, more, more_tables = struct.unpack_from(
        "<II4xIIIII", content, 44
    )
    _require(shift in (9, 12) and mini_shift == 6 and cutoff == 4096)
    size = 1 << shift
    room = len(content) // size + 1
    _require(max(tables, mini_tables, more_tables) <= room)
    sectors = _Sectors(content[size:], size, _table(content, size, tables, more, room))
    entries = sectors.joined(directory)
    _require(len(entries) % _ENTRY == 0)
    root = _entry(entries, 0)
    _require(root[1] == _ROOT)
    mini_numbers = _numbers(sectors.joined(mini_table)) if mini_tables else ()
    mini = _Sectors(sectors.joined(root[2]) if mini_tables else b"", 1 << mini_shift, mini_numbers)
    found: dict[str, bytes] = {}
    for place in range(_ENTRY, len(entries) - _ENTRY + 1, _ENTRY):
        name, kind, start, length = _entry(entries, place)
        if kind != _STREAM or name in found:  # an embedded workbook has streams of these names too
            continue
        found[name] = b""
        if name in wanted:
            data = (mini if length < cutoff else sectors).joined(start) if length else b""
            _require(len(data) >= length)
            found[name] = data[:length]
    return found


def _require(holds: bool) -> None:
    if not holds:
        raise UnreadableUpload(DAMAGED)


def _numbers(data: bytes) -> tuple[int, ...]:
    count = len(data) // 4
    return struct.unpack_from(f"<{count}I", data)


def _table(content: bytes, size: int, count: int, more: int, room: int) -> tuple[int, ...]:
    """The allocation table: for each sector, the one after it."""
    places = list(struct.unpack_from(f"<{_HEADER_SECTORS}I", content, 76))
    for _ in range(room):
        if more >= _LAST_REGULAR:
            break
        sector = _numbers(content[(more + 1) * size : (more + 2) * size])
        places += sector[:-1]
        more = sector[-1]
    regular = [place for place in places if place < _LAST_REGULAR]
    _require(len(regular) == count)
    return _numbers(b"".join(content[(at + 1) * size : (at + 2) * size] for at in regular))


def _entry(entries: bytes, place: int) -> tuple[str, int, int, int]:
    """Name, kind, first sector and length of a directory entry."""
    name_length, kind = struct.unpack_from("<HB", entries, place + 64)
    start, length = struct.unpack_from("<II", entries, place + 116)
    name = entries[place : place + min(name_length, 64)].decode("utf-16-le").rstrip("\0")
    return name, kind, start, length


class _Sectors:
    """Sectors of one size with the table that chains them."""

    def __init__(self, data: bytes, size: int, following: tuple[int, ...]) -> None:
        self._data = data
        self._size = size
        self._following = following

    def joined(self, start: int) -> bytes:
        """The sectors of the chain that begins at `start`; a chain in a circle is damage."""
        chain: list[bytes] = []
        while start < _LAST_REGULAR:
            _require(len(chain) <= len(self._following))
            chain.append(self._data[start * self._size : (start + 1) * self._size])
            start = self._following[start]
        return b"".join(chain)
