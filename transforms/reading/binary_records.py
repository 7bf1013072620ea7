"""The records of an .xls stream, all at once ([MS-XLS] 2.1.4).

A record tells how long it is, so that one can only be found from the one before. That walk alone is
done one by one; what the records say is read by array arithmetic.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transforms.reading.archive import DAMAGED
from transforms.reading.workbook import UnreadableUpload

Numbers = NDArray[np.int64]

_END = 0x0A
_MOST_RECORDS = 4_000_000  # twice the cells that can be held
_HEADER = struct.Struct("<HH")


@dataclass(frozen=True)
class Records:
    """Records of one part of a stream: kind, length of the data and where the data begin."""

    stream: bytes
    kinds: Numbers
    lengths: Numbers
    starts: Numbers

    @classmethod
    def from_place(cls, stream: bytes, at: int) -> Records:
        """Records up to the end of the part.

        Raises UnreadableUpload where one is cut short, and for more than any sheet needs.
        """
        kinds: list[int] = []
        lengths: list[int] = []
        starts: list[int] = []
        last = len(stream) - _HEADER.size
        while at <= last and len(starts) <= _MOST_RECORDS:
            kind, length = _HEADER.unpack_from(stream, at)
            if kind == _END:
                break
            at += _HEADER.size
            kinds.append(kind)
            lengths.append(length)
            starts.append(at)
            at += length
        if at > len(stream) or len(starts) > _MOST_RECORDS:
            raise UnreadableUpload(DAMAGED)
        return cls(stream, *(np.array(each, np.int64) for each in (kinds, lengths, starts)))

    @property
    def size(self) -> int:
        """Bytes of the stream that the records take."""
        return int(self.lengths.sum()) + _HEADER.size * len(self.lengths)

    def of(self, kinds: Iterable[int], shortest: int) -> Records:
        """Those of some kinds. Raises UnreadableUpload where one is too short for its kind."""
        chosen = np.isin(self.kinds, list(kinds))
        found = Records(self.stream, self.kinds[chosen], self.lengths[chosen], self.starts[chosen])
        if (found.lengths < shortest).any():
            raise UnreadableUpload(DAMAGED)
        return found

    def data(self) -> Iterator[bytes]:
        """The data of each record."""
        for start, length in zip(self.starts.tolist(), self.lengths.tolist(), strict=True):
            yield self.stream[start : start + length]

    def numbers(self, offset: int, width: int = 2) -> Numbers:
        """The unsigned number of `width` bytes at this offset of each record's data."""
        return numbers_at(self.stream, self.starts + offset, width)


def numbers_at(stream: bytes, positions: Numbers, width: int = 2) -> Numbers:
    """Unsigned numbers of `width` bytes at these positions of the stream."""
    buffer = np.frombuffer(stream, np.uint8)
    number = np.zeros(len(positions), np.int64)
    for place in range(width):
        number |= buffer[positions + place].astype(np.int64) << (8 * place)
    return number
