"""Lists every planted identifier with the places of an upload where it stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.grid import File, address
from sample_inputs.generator.records import Cell, Record, Series

IDENTIFIER_COLUMNS = ("kind", "value", "week", "site", "where")
# What an output must not hold although no upload spells it so: dates in ISO form.
DERIVED = "derived"


def identifier_rows(
    week: str, centre: Centre, series: Series, files: list[File]
) -> list[tuple[str, ...]]:
    """One row for each identifier and place."""
    texts = list(_texts(files))
    candidates = sorted({*_candidates(series), *centre.others})
    found: list[tuple[str, ...]] = [
        (kind, value, week, centre.site, where)
        for kind, value in candidates
        for where, text in texts
        if value in text
    ]
    iso: list[tuple[str, ...]] = [
        ("birth_date_iso", born.isoformat(), week, centre.site, DERIVED)
        for born in sorted({b for b in map(_born, series.operations) if b is not None})
    ]
    return found + iso


def _born(operation: Record) -> date | None:
    """The date of birth, where the centre's sheets have a column for it."""
    born = operation.loose["born"]
    return born if "birth_date" in operation.places and isinstance(born, date) else None


def _texts(files: list[File]) -> Iterator[tuple[str, str]]:
    """Every text of the files with its place: file name, author, cells, comments."""
    for file in files:
        yield f"{file.name} (file name)", file.name
        if file.author and not file.name.endswith(".csv"):
            yield f"{file.name} (author)", file.author
        for grid in file.grids:
            for (row, column), value in sorted(grid.values.items()):
                if value is not None and not isinstance(value, date):
                    yield f"{file.name}!{grid.name}!{address(row, column)}", str(value)
            for (row, column), note in sorted(grid.comments.items()):
                yield f"{file.name}!{grid.name}!{address(row, column)} (comment)", note


def _candidates(series: Series) -> Iterator[tuple[str, str]]:
    for record in series.records:
        yield "record_number", record.number
        typed = record.cells["patient_id"].written
        if typed is not None:
            yield "record_number", str(typed)
    for operation in series.operations:
        loose = operation.loose
        yield from (("name", str(loose[key])) for key in ("name", "family", "given"))
        yield from ((key, str(loose[key])) for key in ("phone", "email"))
        surgeon = operation.cells.get("surgeon", Cell(None)).written
        if surgeon is not None:
            yield "surgeon", str(surgeon)
        born = loose["born"]
        if isinstance(born, date):
            yield from (("birth_date", born.strftime(s)) for s in ("%d.%m.%Y", "%m/%d/%Y"))
