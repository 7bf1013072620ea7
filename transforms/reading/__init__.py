"""Reads spreadsheets: the bytes of an upload become typed values that keep their cell address."""

from transforms.reading.addresses import address, addresses
from transforms.reading.reader import read_workbook
from transforms.reading.typed_text import cell_text
from transforms.reading.workbook import (
    ERROR_VALUES,
    PerCent,
    Sheet,
    UnreadableUpload,
    Workbook,
)

__all__ = [
    "ERROR_VALUES",
    "PerCent",
    "Sheet",
    "UnreadableUpload",
    "Workbook",
    "address",
    "addresses",
    "cell_text",
    "read_workbook",
]
