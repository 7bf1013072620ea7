"""A law of layout: whatever stands around a table, its records keep their values and addresses."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from string import ascii_uppercase

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from upload_sheets import UPLOAD, crosswalk, table
from written_tables import FORMATS, TEXTS, Page, as_read, write

from transforms.layout import lay_out
from transforms.reading import address, read_workbook

FIELDS = ("patient_id", "eye", "operation_date", "hole_min_diameter", "graft_diameter")
NAMES = ("No", "Eye", "Op", "MLD", "Size")
GROUPS = ("Case", "Case", "Case", "Hole", "Graft")
UNITS = ("text", "R/L", "dd/mm/yyyy", "µm", "µm")
EVENTS = {"patient_id": "File", "eye": "Side", "complication": "Event"}

_texts = st.text("ABCDEFGHJKabcdefghjk", min_size=1, max_size=5)
_days = st.datetimes(dt.datetime(2015, 1, 1), dt.datetime(2026, 1, 1)).map(
    lambda moment: dt.datetime(moment.year, moment.month, moment.day)
)
_sizes = st.integers(200, 1500).map(float) | st.sampled_from(["~450", "450 um", "<50"])
_cases = st.tuples(
    _texts.map(lambda text: "P" + text),
    st.sampled_from(["right", "OS", "D", "LE"]),
    _days,
    st.none() | _sizes,
    st.none() | _sizes,
)


@dataclass
class Drawn:
    """A page of a kind of file, the headings for the crosswalk, and what its records must be."""

    draw: st.DrawFn
    kind: str
    height: int
    left: int
    row: int
    page: Page = field(default_factory=lambda: Page({}))
    cases: list[dict[str, tuple[str, object]]] = field(default_factory=list)
    events: list[dict[str, tuple[str, object]]] = field(default_factory=list)

    @property
    def is_text(self) -> bool:
        return self.kind in TEXTS

    @property
    def headings(self) -> dict[str, str]:
        """What the crosswalk calls the columns: the rows of the heading, joined."""
        above = {1: "", 2: "{} ", 3: "Series {} "}[self.height]
        return {
            name: above.format(group) + text
            for name, group, text in zip(FIELDS, GROUPS, NAMES, strict=True)
        }

    def put(self, *values: object, at: int = 0) -> dict[int, tuple[str, object]]:
        """Writes values into the row from a column on; returns address and value of each."""
        written = {}
        for place, value in enumerate(values):
            if value is not None:
                column = self.left + at + place
                self.page.cells[self.row, column] = value
                written[place] = (address(self.row, column), as_read(self.kind, value))
        return written

    def line(self, *values: object, at: int = 0) -> None:
        self.put(*values, at=at)
        self.row += 1

    def heading(self) -> None:
        """One to three rows, groups merged or written over their first column alone."""
        merges = not self.is_text and self.draw(st.booleans())
        for group, width in (("Series", 5), ("Case", 3))[3 - self.height :]:
            if merges:
                self.page.merged.append((self.row, self.left, self.row, self.left + width - 1))
            self.line(*([group] if width == 5 else [group, None, None, "Hole", "Graft"]))
        self.line(*NAMES)

    def case(self, values: tuple[object, ...]) -> None:
        """A row, and before or beside it what people put between rows."""
        what = self.draw(st.sampled_from(["", "", "blank", "heading", "subtotal", "note"]))
        if what == "blank":
            self.row += 1
        if what == "heading":
            self.heading()
        if what == "subtotal":
            self.line("Subtotal", None, None, 3.0)
        if what == "note":
            self.put("ask theatre", at=7)
        written = self.put(*values)
        self.cases.append({FIELDS[place]: cell for place, cell in written.items()})
        if not self.is_text and self.draw(st.integers(0, 4)) == 0:
            self.page.hidden_rows.add(self.row)
        self.row += 1

    def second_table(self) -> None:
        """Complications in the same sheet, below the cases or to the right of them."""
        at = self.draw(st.sampled_from([0, 10]))
        self.row = self.draw(st.integers(1, 3)) if at else self.row + self.draw(st.integers(1, 3))
        self.line(*EVENTS.values(), at=at)
        for number in range(self.draw(st.integers(1, 3))):
            written = self.put(f"Q{number}", "left", "cataract", at=at)
            self.events.append(dict(zip(EVENTS, written.values(), strict=True)))
            self.row += 1


@st.composite
def decorated(draw: st.DrawFn) -> Drawn:
    """A table of cases at any place, and all that people put around one."""
    drawn = Drawn(
        draw,
        draw(st.sampled_from(FORMATS)),
        height=draw(st.integers(1, 3)),
        left=draw(st.integers(1, 5)),
        row=draw(st.integers(1, 4)),
    )
    for title in draw(st.lists(st.sampled_from(["Macular holes", "Autumn", "Page 1"]), max_size=2)):
        drawn.line(title)
    drawn.row += draw(st.integers(0, 2))
    drawn.heading()
    if draw(st.booleans()):
        drawn.line(*UNITS)
    for values in draw(st.lists(_cases, min_size=1, max_size=6)):
        drawn.case(values)
    if draw(st.booleans()):
        drawn.line("Total", None, None, 12.0)
    last = drawn.row
    drawn.second_table()
    if not drawn.is_text:
        drawn.page.hidden_columns |= set(draw(st.lists(st.integers(1, 12), max_size=2)))
        if draw(st.booleans()):
            drawn.page.blanks |= {(row, drawn.left) for row in range(last + 30, last + 60)}
    return drawn


def _records(layout, kind):
    filled = layout.records.filled()
    filled = filled[filled["kind"] == kind]
    return [
        {
            name: (cell, value)
            for name, cell, value in zip(of["field"], of["cell"], of["value"], strict=True)
        }
        for _, of in filled.groupby("record")
    ]


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decorated())
def test_whatever_stands_around_a_table_its_records_keep_values_and_addresses(drawn):
    kind = drawn.kind
    workbook = read_workbook(f"cases.{kind}", write(kind, drawn.page))
    lengths = {
        name: {"heading": drawn.headings[name], "unit": "um"}
        for name in ("hole_min_diameter", "graft_diameter")
    }
    read = crosswalk(
        table("operation", {**drawn.headings, **lengths}), table("complication", EVENTS)
    )
    layout = lay_out({UPLOAD: (f"cases.{kind}", workbook)}, read)
    assert _records(layout, "operation") == drawn.cases
    assert _records(layout, "complication") == drawn.events
    hidden = layout.findings[layout.findings["rule"] == "row_hidden"]["cell"]
    anchors = [record["patient_id"][0] for record in [*drawn.cases, *drawn.events]]
    in_hidden_rows = {f"{row}" for row in drawn.page.hidden_rows}
    assert sorted(hidden) == sorted(
        a for a in anchors if a.lstrip(ascii_uppercase) in in_hidden_rows
    )
