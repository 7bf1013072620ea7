"""Valid workbooks of every kind, small and always the same bytes, for the fuzz runner to spoil."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Iterable
from functools import cache

import xlsxwriter
import xlwt
from small_study import case

HEADINGS = list(case("1"))
ROWS = 12
MADE = dt.datetime(2026, 3, 2)

_OPEN_DOCUMENT = "urn:oasis:names:tc:opendocument:xmlns:"
_SPACES = "".join(
    f' xmlns:{name}="{_OPEN_DOCUMENT}{name}:1.0"' for name in ("office", "table", "text")
)


def packed(parts: Iterable[tuple[str, bytes]], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    """An archive of these parts, all of one fixed time; a name may come twice."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", packing) as archive:
        for name, content in parts:
            archive.writestr(zipfile.ZipInfo(name), content, packing)
    return file.getvalue()


def unpacked(content: bytes) -> list[tuple[str, bytes]]:
    """Names and contents of an archive's parts."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return [(name, archive.read(name)) for name in archive.namelist()]


def _rows() -> list[list[object]]:
    """Cases as a spreadsheet holds them: dates and numbers typed, some as text."""
    rows: list[list[object]] = []
    for number in range(1, ROWS + 1):
        cells: dict[str, object] = {
            **case(str(number), Eye=("right", "left")[number % 2]),
            "Date": dt.date(2025, 1, number),
            "MLD": 400.0 + 10 * number,
            "Graft": ("1500", 1500.5, "~1500", "1,500 um")[number % 4],
            "VA_3m": (0.7, "20/200", "CF 1m", "0.7")[number % 4],
        }
        rows.append([cells.get(heading, "") for heading in HEADINGS])
    return rows


def _xlsx() -> bytes:
    """Title, merged cells, hidden row and column, formulas, errors, per cents, a second sheet."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(
        file, {"in_memory": True, "default_date_format": "dd/mm/yyyy"}
    ) as book:
        book.set_properties({"created": MADE})
        sheet = book.add_worksheet("Log")
        sheet.merge_range(0, 0, 0, 3, "Macular hole series")
        sheet.write_row(2, 1, HEADINGS)
        for number, row in enumerate(_rows(), start=3):
            sheet.write_row(number, 1, row)
        right = len(HEADINGS) + 2
        sheet.write_formula(3, right, "=1/0", None, "#DIV/0!")
        sheet.write_formula(4, right, "=SUM(H4:H6)", None, 1230)
        sheet.write_boolean(5, right, boolean=True)
        sheet.write_number(6, right, 0.14, book.add_format({"num_format": "0%"}))
        sheet.set_row(8, None, None, {"hidden": True})
        sheet.set_column(right, right, None, None, {"hidden": True})
        sheet.freeze_panes(3, 0)
        sheet.autofilter(2, 1, ROWS + 2, len(HEADINGS))
        book.add_worksheet("Lists").hide()
    return file.getvalue()


def _xlsm() -> bytes:
    """The same with a part that holds macros, which never run."""
    return packed([*unpacked(_xlsx()), ("xl/vbaProject.bin", bytes(range(256)) * 4)])


def _xls() -> bytes:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Log")
    sheet.write_merge(0, 0, 0, 3, "Macular hole series")
    dated = xlwt.easyxf(num_format_str="DD/MM/YYYY")
    for number, row in enumerate([HEADINGS, *_rows()], start=2):
        for column, value in enumerate(row, start=1):
            style = dated if isinstance(value, dt.date) else xlwt.Style.default_style
            sheet.write(number, column, value, style)
    sheet.write(3, 13, xlwt.Formula("1/0"))
    sheet.row(5).hidden = True
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _ods() -> bytes:
    """Written by hand: what odfpy writes hangs on what it wrote before."""
    lines = "".join(
        "<table:table-row><table:table-cell table:number-columns-repeated="
        f'"2"/>{"".join(map(_ods_cell, row))}<table:table-cell table:formula="of:=1/0" '
        'office:value-type="float" office:value="0"/></table:table-row>'
        for row in [HEADINGS, *_rows()]
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{_SPACES} '
        'office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Log">'
        '<table:table-column table:number-columns-repeated="4" table:visibility="collapse"/>'
        '<table:table-row><table:table-cell office:value-type="string" '
        'table:number-columns-spanned="2"><text:p>Macular hole series</text:p></table:table-cell>'
        f"<table:covered-table-cell/></table:table-row>{lines}"
        '<table:table-row table:number-rows-repeated="1000"/>'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    manifest = f'<manifest:manifest xmlns:manifest="{_OPEN_DOCUMENT}manifest:1.0"/>'
    return packed([
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", manifest.encode()), ("content.xml", content.encode()),
    ])  # fmt: skip


def _ods_cell(value: object) -> str:
    kind = 'string"'
    if isinstance(value, dt.date):
        kind = f'date" office:date-value="{value}"'
    elif isinstance(value, float):
        kind = f'float" office:value="{value}"'
    return (
        f'<table:table-cell office:value-type="{kind}><text:p>{value}</text:p></table:table-cell>'
    )


def _text(delimiter: str, encoding: str) -> bytes:
    lines = [delimiter.join(f'"{v}"' if "," in str(v) else str(v) for v in row) for row in _rows()]
    heading = delimiter.join(HEADINGS).replace("Surgeon", "Opérateur")
    return "\r\n".join([heading, *lines, ""]).encode(encoding)


@cache
def seeds() -> tuple[tuple[str, bytes], ...]:
    """File names with valid content."""
    return (
        ("series.xlsx", _xlsx()),
        ("series.xlsm", _xlsm()),
        ("series.xls", _xls()),
        ("series.ods", _ods()),
        ("series.csv", _text(",", "utf-8-sig")),
        ("windows.csv", _text(";", "cp1252")),
        ("series.tsv", _text("\t", "utf-16")),
    )
