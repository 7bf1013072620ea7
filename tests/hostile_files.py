"""Files that no one should have to trust, each with words of the reason why it is set aside."""

from __future__ import annotations

import io
import os
import socket
import struct
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import xlsxwriter
from small_study import case

OLD_WORKBOOK = Path(__file__).parent / "transforms" / "old_workbook.xls"
SHEET = "xl/worksheets/sheet1.xml"


def workbook() -> bytes:
    """A workbook of one good case."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Log")
        sheet.write_row(0, 0, list(case("1")))
        sheet.write_row(1, 0, list(case("1").values()))
    return file.getvalue()


def with_part(name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one of its parts changed."""
    file = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook())) as old,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for part in old.namelist():
            new.writestr(part, change(old.read(part)) if part == name else old.read(part))
    return file.getvalue()


def locked_workbook() -> bytes:
    """The compound file in which an encrypted .xlsx comes: its directory names this stream."""
    content = bytearray(OLD_WORKBOOK.read_bytes())
    place = content.index("Workbook".encode("utf-16-le"))
    content[place : place + 32] = "EncryptedPackage".encode("utf-16-le")
    content[place + 64] = 34  # the length of the name, its end included
    return bytes(content)


@cache
def bomb() -> bytes:
    """A third of a megabyte that unpacks to 320 MB."""
    return with_part(SHEET, lambda xml: xml.replace(b"<sheetData>", b" " * 320_000_000 + xml))


def lying_bomb() -> bytes:
    """The same, where the archive says that the part has 1,000 bytes."""
    content = bytearray(bomb())
    entry = content.rindex(SHEET.encode()) - 46  # of the central directory, which is at the end
    struct.pack_into("<I", content, entry + 24, 1_000)
    return bytes(content)


def entities() -> bytes:
    """Entities that name each other: a few lines that would unfold to gigabytes."""
    lines = ['<!ENTITY a0 "aaaaaaaaaa">']
    lines += [f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)]
    declared = f"<!DOCTYPE worksheet [{''.join(lines)}]>".encode()
    return with_part(SHEET, lambda xml: xml.replace(b"<worksheet", declared + b"<worksheet", 1))


def outside_entity() -> bytes:
    """An entity that would fetch a file of the machine."""
    declared = b'<!DOCTYPE sst [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    return with_part("xl/sharedStrings.xml", lambda xml: xml.replace(b"<sst", declared + b"<sst"))


def far_cell() -> bytes:
    """A workbook of 6 KB whose one far-out cell asks for terabytes."""
    far = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    return with_part(SHEET, lambda xml: xml.replace(b"</sheetData>", far))


def too_many_texts() -> bytes:
    """A table of ten texts that says it has four thousand million, which would take 100 GB."""
    return with_part(
        "xl/sharedStrings.xml",
        lambda xml: xml.replace(b' uniqueCount="', b' uniqueCount="4294967295" x="'),
    )


def path_as_sheet_name() -> bytes:
    return with_part("xl/workbook.xml", lambda xml: xml.replace(b'"Log"', b'"../../../etc/passwd"'))


# Name of the file, its content, and words of the reason.
CONTENTS: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "an empty file": ("series.xlsx", bytes, "the file is empty"),
    "white space alone": ("series.csv", lambda: b" \r\n\r\n", "the file is empty"),
    "a picture": ("series.xlsx", lambda: b"\x89PNG\r\n\x1a\n" + bytes(500), "no workbook"),
    "a program": ("series.xls", lambda: b"\x7fELF" + bytes(500), "no workbook"),
    "a picture as a text table": ("series.csv", lambda: b"\xff\xd8\xff\xe0" + bytes(500), "text"),
    "a web page": ("series.xls", lambda: b"<html><table></table></html>", "a web page"),
    "another archive": ("series.xlsx", lambda: b"PK\x05\x06" + bytes(18), "no workbook"),
    "a workbook cut short": ("series.xlsx", lambda: workbook()[:3_000], "cut short"),
    "an old workbook cut short": (
        "series.xls", lambda: OLD_WORKBOOK.read_bytes()[:2_000], "cut short",
    ),
    "a workbook with a password": ("series.xlsx", locked_workbook, "password"),
    "a zip bomb": ("series.xlsx", bomb, "unpacks to more than 300 MB"),
    "a zip bomb that lies": ("series.xlsx", lying_bomb, "damaged"),
    "an entity bomb": ("series.xlsx", entities, "XML entities"),
    "an entity that fetches a file": ("series.xlsx", outside_entity, "XML entities"),
    "a cell far out": ("series.xlsx", far_cell, "XFD1048576"),
    "a table of texts that lies": ("series.xlsx", too_many_texts, "damaged"),
    "a million columns": ("series.csv", lambda: b"x" + b",x" * 999_999 + b"\n", "columns"),
    "a path for a sheet's name": ("series.xlsx", path_as_sheet_name, "sign in its name"),
}  # fmt: skip


@contextmanager
def _standing(place: Path) -> Iterator[None]:
    """In the folder of `place`: sockets take no long paths."""
    before = Path.cwd()
    os.chdir(place.parent)
    try:
        yield
    finally:
        os.chdir(before)


def make_link(place: Path) -> None:
    target = place.parents[3] / "elsewhere.xlsx"
    target.write_bytes(workbook())
    place.symlink_to(target)


def make_socket(place: Path) -> None:
    with _standing(place), socket.socket(socket.AF_UNIX) as listening:
        listening.bind(place.name)


def make_huge_file(place: Path) -> None:
    """500 MB that take no room on the disk."""
    with place.open("wb") as file:
        file.truncate(500_000_000)


# How the thing is made, by what it is, and words of the reason.
PLACES: dict[str, tuple[Callable[[Path], object], str]] = {
    "a link to a file": (make_link, "symbolic link"),
    "a link to nothing": (lambda place: place.symlink_to("nowhere"), "symbolic link"),
    "a link to itself": (lambda place: place.symlink_to(place.name), "symbolic link"),
    "a link to a device": (lambda place: place.symlink_to("/dev/zero"), "symbolic link"),
    "a pipe": (os.mkfifo, "a pipe, a socket or a device"),
    "a socket": (make_socket, "a pipe, a socket or a device"),
    "a folder": (Path.mkdir, "a folder, not a file"),
    "a file of 500 MB": (make_huge_file, "larger than 100 MB"),
}


def words_for(what: str) -> str:
    """Words of the reason why what the tables above call `what` is set aside."""
    return PLACES[what][1] if what in PLACES else CONTENTS[what][2]


def make_hostile(what: str, folder: Path) -> Path:
    """Puts what the tables above call `what` into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    if what in PLACES:
        place = folder / "series.xlsx"
        PLACES[what][0](place)
        return place
    name, content, _ = CONTENTS[what]
    (folder / name).write_bytes(content())
    return folder / name
