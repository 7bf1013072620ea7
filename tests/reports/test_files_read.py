"""How files were read, in words."""

import pytest

from reports.read_as import read_as


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (("xlsx", None, None, None), "workbook (.xlsx)"),
        (("ods", None, None, None), "OpenDocument spreadsheet (.ods)"),
        (
            ("csv", "cp1252", ";", "comma"),
            "text table, Windows-1252, cells parted by semicolons, decimal comma",
        ),
        (
            ("csv", "utf-16-le", "\t", None),
            "text table, UTF-16-LE, cells parted by tabs, numbers without one decimal mark",
        ),
        (
            ("csv", "mac_roman", ",", "point"),
            "text table, Mac Roman, cells parted by commas, decimal point",
        ),
    ],
)
def test_what_was_found_of_a_file_is_said_in_words(found, words):
    assert read_as(*found) == words


def test_missing_values_of_a_table_are_nothing_found():
    assert read_as("xls", float("nan"), float("nan"), float("nan")) == "old workbook (.xls)"
