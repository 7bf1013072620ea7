"""Ways to spoil a workbook: in its bytes, and in what its format means by them."""

from __future__ import annotations

import re
import struct
import zipfile
from collections.abc import Callable
from random import Random

from fuzz_seeds import packed, unpacked

Mutation = Callable[[Random, bytes], bytes]

# What readers have stumbled over: empty, negative, beyond 16, 32 and 64 bits, no number, far
# addresses, broken references, text that is very long.
NASTY = (
    "", " ", "-1", "0", "1", "65536", "1048577", "2147483648", "4294967295",
    "18446744073709551616", "9" * 400, "1e308", "1e999", "-1e-999", "NaN", "INF", "0x7f", "1.5.2",
    "true", "A0", "XFD1048576", "ZZZZZZZ9", "A1:XFD1048576", "B2:A1", "$A$1", "../../etc/passwd",
    "\u0661\u0662", "\uff21\uff11", "&#0;", "&amp;", "&nosuch;", "&#x1F600;", "%s%n", "=1+1",
    "A" * 40_000, "\ufffe", "2958466", "-693595", "9999-99-99", "0000-00-00",
    "10000-01-01T00:00:00Z", "PT99999999999H", "#N/A", "#BOOM!",
)  # fmt: skip


# Bytes, whatever the format


def flip_bits(draw: Random, content: bytes) -> bytes:
    spoilt = bytearray(content)
    for _ in range(draw.choice([1, 1, 2, 8, 64])):
        spoilt[draw.randrange(len(spoilt))] ^= 1 << draw.randrange(8)
    return bytes(spoilt)


def _piece(draw: Random, content: bytes) -> tuple[int, int]:
    start = draw.randrange(len(content))
    return start, min(len(content), start + draw.choice([1, 2, 4, 30, 500, 5_000]))


def cut_the_end(draw: Random, content: bytes) -> bytes:
    return content[: draw.randrange(1, len(content))]


def cut_a_piece(draw: Random, content: bytes) -> bytes:
    start, end = _piece(draw, content)
    return content[:start] + content[end:]


def insert_bytes(draw: Random, content: bytes) -> bytes:
    start = draw.randrange(len(content))
    return content[:start] + draw.randbytes(draw.choice([1, 2, 7, 300])) + content[start:]


def repeat_a_piece(draw: Random, content: bytes) -> bytes:
    start, end = _piece(draw, content)
    return content[:end] + content[start:end] * draw.choice([1, 2, 50]) + content[end:]


def swap_pieces(draw: Random, content: bytes) -> bytes:
    cuts = sorted(draw.randrange(len(content)) for _ in range(3))
    first, second, third = cuts
    return content[:first] + content[second:third] + content[first:second] + content[third:]


def fill_a_piece(draw: Random, content: bytes) -> bytes:
    start, end = _piece(draw, content)
    return content[:start] + draw.choice([b"\0", b"\xff"]) * (end - start) + content[end:]


def set_a_number(draw: Random, content: bytes) -> bytes:
    """A 32-bit number at any place becomes one at the edge of what it can be."""
    spoilt = bytearray(content)
    number = draw.choice([0, 1, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFE, 0xFFFFFFFF, draw.randrange(99)])
    struct.pack_into("<I", spoilt, draw.randrange(len(spoilt) - 4), number)
    return bytes(spoilt)


BYTES: tuple[Mutation, ...] = (
    flip_bits, cut_the_end, cut_a_piece, insert_bytes, repeat_a_piece, swap_pieces, fill_a_piece,
    set_a_number,
)  # fmt: skip


# Archives: signature of a header and places of its numbers (APPNOTE 4.3.12, 4.3.7, 4.3.16)

_ZIP_FIELDS = (
    (b"PK\x01\x02", (8, 10, 16, 20, 24, 28, 30, 32, 42)),
    (b"PK\x03\x04", (6, 8, 14, 18, 22, 26, 28)),
    (b"PK\x05\x06", (4, 8, 10, 12, 16, 20)),
)


def change_parts(draw: Random, content: bytes) -> bytes:
    """Parts left out, twice, under another's name, emptied, or packed otherwise."""
    parts = unpacked(content)
    place = draw.randrange(len(parts))
    name, part = parts[place]
    other = draw.choice(parts)[0]
    changed = draw.choice(
        [[], [(name, part)] * 2, [(other, part)], [(name.upper(), part)], [("/" + name, part)],
         [("../" + name, part)], [(name, b"")], [(name, part * 3)]]
    )  # fmt: skip
    packing = draw.choice([zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED, zipfile.ZIP_BZIP2])
    return packed([*parts[:place], *changed, *parts[place + 1 :]], packing)


def lie_in_the_directory(draw: Random, content: bytes) -> bytes:
    """A field of the archive's directory, or of a part's own header, says something else."""
    spoilt = bytearray(content)
    signature, fields = draw.choice(_ZIP_FIELDS)
    places = [found.start() for found in re.finditer(re.escape(signature), content)]
    at = draw.choice(places) + draw.choice(fields)
    struct.pack_into("<H", spoilt, at, draw.choice([0, 1, 8, 99, 0x7FFF, 0xFFFF]))
    return bytes(spoilt)


# XML within archives

_ATTRIBUTE = re.compile(rb'="[^"]*"')
_TEXT = re.compile(rb">[^<]+<")
_TAG = re.compile(rb"</?[\w:]+")
_ELEMENT = re.compile(rb"<(row|c|table:table-row|table:table-cell|mergeCell|si|xf)\b.*?</?\1[^>]*>")
# What says how large a thing is, where it stands, or which of many it means.
_TELLING = re.compile(
    rb"\b(?:r|s|t|ref|min|max|spans|count|uniqueCount|numFmtId|xfId|r:id|sheetId|state|hidden|"
    rb"table:number-(?:rows|columns)-(?:repeated|spanned)|office:(?:value|date-value|value-type)|"
    rb'table:(?:name|formula|visibility)|Target|Id|date1904)="[^"]*"'
)
_VALUE = re.compile(rb"<v>[^<]*</v>")
_TELLING_PART = re.compile(r"sheet\d|sharedStrings|styles|workbook|content\.xml")


def _replaced(
    draw: Random, xml: bytes, pattern: re.Pattern[bytes], new: Callable[[bytes], bytes]
) -> bytes:
    """One of the places that the pattern finds, or some of them, written anew."""
    places = list(pattern.finditer(xml))
    for found in sorted(
        draw.sample(places, min(len(places), draw.choice([1, 1, 1, 3, 20]))),
        key=lambda found: -found.start(),
    ):
        xml = xml[: found.start()] + new(found[0]) + xml[found.end() :]
    return xml


def _nasty(draw: Random) -> bytes:
    return draw.choice(NASTY).encode("utf-8", "surrogatepass")


def _spoilt_xml(draw: Random, xml: bytes) -> bytes:
    def valued(found: bytes) -> bytes:
        return found.partition(b'="')[0] + b'="' + _nasty(draw) + b'"'

    ways: list[Callable[[], bytes]] = [
        lambda: _replaced(draw, xml, _ATTRIBUTE, valued),
        lambda: _replaced(draw, xml, _TELLING, valued),
        lambda: _replaced(draw, xml, _TELLING, valued),
        lambda: _replaced(draw, xml, _VALUE, lambda _: b"<v>" + _nasty(draw) + b"</v>"),
        lambda: _replaced(draw, xml, _TEXT, lambda _: b">" + _nasty(draw) + b"<"),
        lambda: _replaced(draw, xml, _TAG, lambda found: found + b"x"),
        lambda: _replaced(draw, xml, _TAG, lambda found: b"<!-- -->" + found),
        lambda: _replaced(draw, xml, _TAG, lambda found: b"<a:" + found.lstrip(b"</")),
        lambda: _replaced(draw, xml, _ELEMENT, lambda _: b""),
        lambda: _replaced(draw, xml, _ELEMENT, lambda found: found * 400),
        lambda: _replaced(draw, xml, _TAG, lambda found: b"<x>" * 20_000 + found),
        lambda: xml.replace(b'"', b"'"),
        lambda: xml.replace(b"UTF-8", draw.choice([b"UTF-16", b"latin-1", b"nosuch", b"UTF-7"])),
        lambda: xml.decode("utf-8", "replace").encode(
            draw.choice(["utf-16", "utf-32", "utf-8-sig"])
        ),
        lambda: b"<!DOCTYPE x [<!ENTITY a 'b'>]>" + xml,
    ]
    return draw.choice(ways)()


def spoil_a_part(draw: Random, content: bytes) -> bytes:
    """One XML part changed and the archive packed anew, so that nothing else is wrong."""
    parts = unpacked(content)
    telling = [place for place, (name, _) in enumerate(parts) if _TELLING_PART.search(name)]
    place = draw.choice(telling)
    name, xml = parts[place]
    for _ in range(draw.choice([1, 1, 2, 4])):
        xml = _spoilt_xml(draw, xml) if xml else xml
    parts[place] = (name, xml)
    return packed(parts)


def spoil_bytes_of_a_part(draw: Random, content: bytes) -> bytes:
    """The bytes of one part changed under a right checksum."""
    parts = unpacked(content)
    place = draw.randrange(len(parts))
    name, part = parts[place]
    parts[place] = (name, draw.choice(BYTES)(draw, part) if len(part) > 8 else part)
    return packed(parts)


ARCHIVE: tuple[Mutation, ...] = (
    change_parts, lie_in_the_directory, spoil_a_part, spoil_a_part, spoil_a_part,
    spoil_bytes_of_a_part,
)  # fmt: skip


# Old workbooks ([MS-XLS]): records of two bytes type, two bytes length and content

_FIRST_RECORD = bytes.fromhex("0908")  # BOF
_OTHER_TYPES = (
    0x0006,
    0x000A,
    0x0085,
    0x00E5,
    0x00FC,
    0x00FD,
    0x0200,
    0x0203,
    0x0205,
    0x027E,
    0x0809,
)


def _records(content: bytes) -> list[int]:
    """Where the records of the workbook begin, as far as they can be followed."""
    at = content.find(_FIRST_RECORD, 512)
    places = []
    while 0 <= at < len(content) - 4:
        kind, length = struct.unpack_from("<HH", content, at)
        if kind == 0 and length == 0:
            break
        places.append(at)
        at += 4 + length
    return places


def change_a_record(draw: Random, content: bytes) -> bytes:
    """A record with another type, another length, or numbers at their edge."""
    spoilt = bytearray(content)
    for _ in range(draw.choice([1, 1, 2, 8])):
        at = draw.choice(_records(content))
        length = struct.unpack_from("<H", content, at + 2)[0]
        field = draw.choice([0, 2, *range(4, 4 + min(length, 24), 2)])
        number = draw.choice([*_OTHER_TYPES, 0, 1, 0x7FFF, 0xFFFE, 0xFFFF, length + 1, length * 2])
        struct.pack_into("<H", spoilt, at + field, number & 0xFFFF)
    return bytes(spoilt)


def change_the_container(draw: Random, content: bytes) -> bytes:
    """A number of the container's header or of its directory at the end."""
    spoilt = bytearray(content)
    directory = content.find("Root Entry".encode("utf-16-le"))
    at = draw.choice([draw.randrange(24, 100), directory + draw.randrange(0, 500)])
    number = draw.choice([0, 1, 2, 9, 0xFFFF, 0xFFFFFFFE, 0xFFFFFFFF, 0x7FFFFFFF])
    struct.pack_into("<I", spoilt, min(at, len(spoilt) - 4), number)
    return bytes(spoilt)


OLD: tuple[Mutation, ...] = (change_a_record, change_a_record, change_the_container)


# Text

_MARKS = (
    b'"', b'""', b'"\n', b'\\"', b",", b";" * 300, b"\0", b"\r", b"\n\n\n", b"\x1a", b"\x80",
    b"sep=;\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\xe2\x80\xa8", b"\xc2\x85",
)  # fmt: skip


def insert_marks(draw: Random, content: bytes) -> bytes:
    """Quotation marks, delimiters, line ends, NULs and byte order marks in places of their own."""
    for _ in range(draw.choice([1, 2, 10])):
        at = draw.randrange(len(content) + 1)
        content = content[:at] + draw.choice(_MARKS) + content[at:]
    return content


def replace_cells(draw: Random, content: bytes) -> bytes:
    """Cells that say something else."""
    cell = re.compile(rb"(?<=[,;\t\n])[^,;\t\r\n]+")
    return _replaced(draw, content, cell, lambda _: _nasty(draw))


def recode(draw: Random, content: bytes) -> bytes:
    text = content.decode("cp1252", "replace")
    encoding = draw.choice(["utf-16-le", "utf-16-be", "utf-16", "utf-32", "utf-7", "mac-roman",
                            "cp437", "shift-jis"])  # fmt: skip
    return text.encode(encoding, "replace")


TEXT: tuple[Mutation, ...] = (insert_marks, replace_cells, replace_cells, recode)

_OF_FORMAT = {
    "xlsx": ARCHIVE,
    "xlsm": ARCHIVE,
    "ods": ARCHIVE,
    "xls": OLD,
    "csv": TEXT,
    "tsv": TEXT,
}


def spoil(draw: Random, name: str, content: bytes) -> tuple[str, bytes]:
    """The content of a file so named spoilt in one way; and the way's name."""
    of_format = _OF_FORMAT[name.rpartition(".")[2]]
    way = draw.choice(of_format if draw.random() < 0.7 else BYTES)
    return way.__name__, way(draw, content)
