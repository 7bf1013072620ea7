"""Opens a zipped workbook with care: sizes are proved before anything else reads it."""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Mapping
from io import BytesIO

from schemas.upload_size import COPY_TABLES_ALONE
from transforms.reading.workbook import UnreadableUpload

MOST_BYTES = 300_000_000

DAMAGED = (
    "the file is damaged or was cut short on its way; open it in the spreadsheet program, "
    "save it under a new name and send it again"
)
PASSWORD = "the file is protected by a password; save a copy without the password and send that"
_TOO_LARGE = f"the file unpacks to more than {MOST_BYTES // 1_000_000} MB; {COPY_TABLES_ALONE}"
_DECLARATIONS = (
    "the file declares its own XML entities, which no spreadsheet program writes; open it in the "
    "spreadsheet program, save it under a new name and send it again"
)

_ENCRYPTED = 0x1
_LOCAL_HEADER = 30
_NAME_LENGTHS = 26
_PIECE = 1 << 22
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


def unpack(content: bytes) -> Mapping[str, bytes]:
    """Parts of a zip archive by lower-case name.

    Raises UnreadableUpload for an archive that is damaged, locked, over MOST_BYTES unpacked (in
    its own words or in truth), or that declares XML entities.
    """
    try:
        members = zipfile.ZipFile(BytesIO(content)).infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise UnreadableUpload(DAMAGED) from None
    if any(member.flag_bits & _ENCRYPTED for member in members):
        raise UnreadableUpload(PASSWORD)
    if sum(member.file_size for member in members) > MOST_BYTES:
        raise UnreadableUpload(_TOO_LARGE)
    parts: dict[str, bytes] = {}
    for member in members:
        name = member.filename.replace("\\", "/").lower()
        if name in parts:
            raise UnreadableUpload(DAMAGED)
        parts[name] = _part(content, member)
        if name.endswith((".xml", ".rels")):
            _refuse_declarations(parts[name])
    return parts


def _part(content: bytes, member: zipfile.ZipInfo) -> bytes:
    """One part, unpacked to no more than its declared size.

    Done by hand because `ZipFile.read` stops at the declared size without a word, while other
    readers of the same archive go on to the true end.
    """
    start = member.header_offset
    try:
        name_length, extra_length = struct.unpack_from("<HH", content, start + _NAME_LENGTHS)
    except struct.error:
        raise UnreadableUpload(DAMAGED) from None
    start += _LOCAL_HEADER + name_length + extra_length
    packed = content[start : start + member.compress_size]
    if member.compress_type == zipfile.ZIP_STORED:
        data = packed
    elif member.compress_type == zipfile.ZIP_DEFLATED:
        try:
            data = _inflated(packed, member.file_size)
        except zlib.error:
            raise UnreadableUpload(DAMAGED) from None
    else:
        raise UnreadableUpload(DAMAGED)
    if len(data) != member.file_size:
        raise UnreadableUpload(DAMAGED)
    return data


def _inflated(packed: bytes, most: int) -> bytes:
    """The unpacked bytes, or more than `most` of them where there are more.

    By pieces: in one piece, zlib holds all of it twice.
    """
    unpacking = zlib.decompressobj(-zlib.MAX_WBITS)
    data = BytesIO()
    while data.tell() <= most and (piece := unpacking.decompress(packed, _PIECE)):
        data.write(piece)
        packed = unpacking.unconsumed_tail
    return data.getvalue()


def _refuse_declarations(xml: bytes) -> None:
    if b"<!DOCTYPE" in xml:
        raise UnreadableUpload(_DECLARATIONS)
    # Spreadsheet programs write UTF-8; in UTF-16 a declaration would pass unseen.
    if xml.startswith(_UTF16_MARKS) or b"\0" in xml[:4]:
        raise UnreadableUpload(DAMAGED)
