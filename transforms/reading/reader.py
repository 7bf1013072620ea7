"""Reads one uploaded file, whatever kind of spreadsheet it is."""

from __future__ import annotations

from pathlib import PurePath

from schemas.upload_size import FILE_TOO_LARGE, MOST_FILE_BYTES
from transforms.reading.archive import unpack
from transforms.reading.delimited import read_delimited
from transforms.reading.old_workbook import old_workbook_structure
from transforms.reading.open_document import open_document_structure
from transforms.reading.open_xml import open_xml_structure
from transforms.reading.typed_values import read_sheets
from transforms.reading.workbook import BookStructure, UnreadableUpload, Workbook

_ZIP = b"PK\x03\x04"
_COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1")
_TEXT_ENDINGS = (".csv", ".tsv", ".txt", ".tab")
_MARKUP = (b"<!doctype", b"<html", b"<table", b"<?xml", b"<head", b"<meta", b"<body")

_SAVE_AS = "open it in the spreadsheet program, save it as .xlsx and send that"


def read_workbook(name: str, content: bytes) -> Workbook:
    """The workbook in the bytes of a file; `name` is the file's name, for its ending alone.

    A zip or compound-file signature decides the kind; the ending tells text from the rest. Raises
    UnreadableUpload, with the mend, for what cannot be read. Formulas are never evaluated.
    """
    if len(content) > MOST_FILE_BYTES:
        raise UnreadableUpload(FILE_TOO_LARGE)
    if not content or content.isspace():
        raise UnreadableUpload("the file is empty; save the spreadsheet again and send it")
    if content.startswith(_ZIP):
        return read_sheets(content, _zipped_structure(content))
    if content.startswith(_COMPOUND):
        return read_sheets(content, old_workbook_structure(content))
    if content[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith(_MARKUP):
        raise UnreadableUpload(
            f"the file is a web page or XML under a spreadsheet's name; {_SAVE_AS}"
        )
    if PurePath(name).suffix.lower() not in _TEXT_ENDINGS:
        raise UnreadableUpload(
            "the file is no workbook, or its beginning was lost; "
            f"{_SAVE_AS} (a text table's name must end in .csv or .tsv)"
        )
    return read_delimited(content)


def _zipped_structure(content: bytes) -> BookStructure:
    """The unpacked parts are let go on return: they take more memory than the values."""
    parts = unpack(content)
    if "xl/workbook.xml" in parts:
        return open_xml_structure(parts)
    if b"opendocument.spreadsheet" in parts.get("mimetype", b""):
        return open_document_structure(parts)
    raise UnreadableUpload(f"the file is no workbook that can be read here; {_SAVE_AS}")
