"""Tables that say where values came from, what was asked about them, and what was merged when."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.field import Table, field

WEEK = "ISO 8601 week, as 2026-W47."


class Findings(Table):
    """One row for each matter raised with a centre."""

    finding_key: Series[str] = field(
        "Finding", "The same from week to week for the same matter.", nullable=False, unique=True
    )
    site: Series[str] = field("Centre", "Code of the centre.", nullable=False)
    case_label: Series[str] = field("Case", "Random code of the operation or patient.")
    upload: Series[str] = field("Upload", "Key of the upload that was read.", nullable=False)
    sheet: Series[str] = field("Sheet", "Sheet of the workbook.")
    cell: Series[str] = field("Cell", "Address of the cell.")
    field_: Series[str] = field("Field", "Field of the codebook.", alias="field")
    rule: Series[str] = field("Rule", "Name of the rule.", nullable=False)
    action: Series[str] = field(
        "Action", "What was done with the data.", codes=codes.ACTION, nullable=False
    )
    message: Series[str] = field("What is wrong", "In words, without the value.", nullable=False)
    mend: Series[str] = field("How to mend it", "In words.", nullable=False)
    first_week: Series[str] = field("First seen", WEEK, nullable=False)
    last_week: Series[str] = field("Last seen", WEEK, nullable=False)
    state: Series[str] = field(
        "State", "Where the matter stands.", codes=codes.STATE, nullable=False
    )
    answer: Series[str] = field("Answer", "Coded answer of the centre.")


class Cells(Table):
    """Where each harmonised value came from; never what the cell said."""

    key: Series[str] = field("Row", "Key of the operation, visit or complication.", nullable=False)
    field_: Series[str] = field("Field", "Column of the warehouse.", nullable=False, alias="field")
    upload: Series[str] = field("Upload", "Key of the upload.", nullable=False)
    sheet: Series[str] = field("Sheet", "Sheet of the workbook.", nullable=False)
    cell: Series[str] = field(
        "Cell", "Address of the cell; 'crosswalk' for a value that it gives for the whole centre.",
        nullable=False,
    )  # fmt: skip
    rule: Series[str] = field(
        "Rule", "Name of the rule by which the value was made of the cell.", nullable=False
    )
    rule_version: Series[str] = field(
        "Rule's version", "Version of that rule; a vocabulary's is a digest of its words.",
        nullable=False,
    )  # fmt: skip


class Unread(Table):
    """One row for each sheet or column of an upload that no crosswalk names."""

    site: Series[str] = field("Centre", "Code of the centre.", nullable=False)
    upload: Series[str] = field("Upload", "Key of the upload.", nullable=False)
    sheet: Series[str] = field("Sheet", "Sheet of the workbook.", nullable=False)
    cell: Series[str] = field("Cell", "Address of the heading; empty for a whole sheet.")
    heading: Series[str] = field("Heading", "The heading alone; empty for a whole sheet.")


class Headings(Table):
    """One row for each column of a centre's tables and each field that is read from it.

    What stood where and in which unit, so that next week's upload can be held against it.
    """

    site: Series[str] = field("Centre", "Code of the centre.", nullable=False)
    crosswalk_table: Series[str] = field(
        "Table", "File pattern, sheet and kind of row of the table in the crosswalk.",
        nullable=False,
    )  # fmt: skip
    sheet: Series[str] = field("Sheet", "Sheet of the workbook.", nullable=False)
    position: Series[pd.Int64Dtype] = field(
        "Column", "Number of the column in the sheet, from 1.", nullable=False
    )
    heading: Series[str] = field("Heading", "The heading alone.", nullable=False)
    kind: Series[str] = field("Kind", "Kind of record; empty for a column that is not read.")
    field_: Series[str] = field("Field", "Field that is read from it.", alias="field")
    at: Series[str] = field("Visit", "Visit that the crosswalk's block names.")
    eye: Series[str] = field("Eye", "Eye that the crosswalk's block names.", codes=codes.EYE)
    written_in: Series[str] = field("Written in", "Unit of a quantity, notation of an acuity.")
    since: Series[str] = field("Since", "Week from which on it is, where the crosswalk says so.")
    numbers: Series[pd.Int64Dtype] = field(
        "Numbers", "Cells of the table's column that hold a possible number."
    )
    median: Series[float] = field(
        "Median", "Middle one of these numbers, of a quantity in the codebook's unit, if there are "
        "five at least. Of a column whose numbers are not used it is the last one that was.",
    )  # fmt: skip


class Uploads(Table):
    """One row for each file that a centre sent."""

    upload_key: Series[str] = field(
        "Upload", "Centre, week and the first digits of the file's checksum.",
        nullable=False, unique=True,
    )  # fmt: skip
    site: Series[str] = field("Centre", "Code of the centre.", nullable=False)
    week: Series[str] = field("Week", WEEK, nullable=False)
    file_name: Series[str] = field("File", "Name of the file, cleared of what could identify.")
    sha256: Series[str] = field("Checksum", "SHA-256 of the file's bytes.", nullable=False)
    read_with: Series[str] = field(
        "Read with", "Checksum of the crosswalk, the settings and the program that read it.",
        nullable=False,
    )  # fmt: skip
    file_kind: Series[str] = field("Kind of file", "Kind of spreadsheet that was read.")
    encoding: Series[str] = field("Encoding", "Encoding in which a text file was read.")
    delimiter: Series[str] = field("Delimiter", "What parts the cells of a text file.")
    decimal_mark: Series[str] = field(
        "Decimal mark", "Mark of decimals that the numbers of a text file show."
    )
    sheets: Series[pd.Int64Dtype] = field("Sheets", "Sheets in the file.", nullable=False)
    rows_read: Series[pd.Int64Dtype] = field(
        "Rows read", "Operations, visits and complications found.", nullable=False
    )
    rows_merged: Series[pd.Int64Dtype] = field(
        "Rows merged", "Of these, taken into the pool.", nullable=False
    )
    rows_held: Series[pd.Int64Dtype] = field("Rows held", "Of these, kept out.", nullable=False)
    status: Series[str] = field(
        "Status", "What became of the file.", codes=codes.UPLOAD_STATUS, nullable=False
    )
    reason: Series[str] = field("Reason", "Why a file was set aside.")


class Weeks(Table):
    """One row for each merge of a week."""

    week: Series[str] = field("Week", WEEK, nullable=False, unique=True)
    started: Series[str] = field("Started", "UTC time, ISO 8601.", nullable=False)
    finished: Series[str] = field("Finished", "UTC time, ISO 8601.", nullable=False)
    code_version: Series[str] = field("Version", "Version of foveapool.", nullable=False)
    codebook_version: Series[str] = field("Codebook", "Version of the codebook.", nullable=False)
    counts: Series[str] = field("Counts", "Rows read, merged and held, findings; as JSON.")
