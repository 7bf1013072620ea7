"""Rules: everything that a finding can be about, what is done with the data, and how to mend it.

A message is made from a rule's words and from facts of the codebook and the crosswalk (titles,
headings, limits) and the sheet's headings, never from what a cell says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Action = Literal["hold", "blank", "ask"]


@dataclass(frozen=True)
class Rule:
    """One kind of finding. `message` and `mend` may name {title}, {heading}, {range} (as
    '0 to 200 %'), {in_unit} (as ' in µm'), {other} and {count}."""

    name: str
    action: Action
    message: str
    mend: str


_DECLARED = (
    # What a row needs to be a record at all.
    Rule(
        "record_number_missing", "hold", "{title} is empty, or shows an error.",
        "Enter the patient's record number.",
    ),
    Rule("eye_missing", "hold", "{title} is empty.", "Enter which eye it was."),
    Rule(
        "eye_unreadable", "hold", "{title} is not a word for one eye.",
        "Enter right or left, as OD, OS or in words of your language.",
    ),
    Rule("operation_date_missing", "hold", "{title} is empty.", "Enter the date of the operation."),
    Rule(
        "operation_date_unreadable", "hold", "{title} cannot be read with certainty.",
        "Enter it as a date of the spreadsheet, or in the order that your crosswalk names.",
    ),
    Rule(
        "operation_date_impossible", "hold", "{title} lies in the future or before 1990.",
        "Check the year.",
    ),
    Rule(
        "operation_doubled", "hold",
        "This patient, eye and date stand in another row too ({other}).",
        "Keep one row for each operation.",
    ),
    Rule(
        "operation_unknown", "hold", "No operation of this patient and eye is in this upload.",
        "Check record number and eye here and on the operation's row.",
    ),
    Rule(
        "complication_unreadable", "hold", "{title} is empty or not a known term.",
        "Use a term of the data dictionary.",
    ),
    Rule(
        "row_overflows", "hold",
        "This row has more cells than the table has headings; they may stand under wrong ones.",
        "Put quotation marks around cells with the delimiter in them, as in decimal commas.",
    ),
    Rule(
        "record_number_ambiguous", "hold",
        "{title} is typed differently here, and more than one patient fits ({other}).",
        "Type the record number as on the operation's row.",
    ),
    Rule(
        "visit_undated", "hold", "The visit has neither a readable date nor a named window.",
        "Enter the date of the visit.",
    ),
    Rule(
        "visit_operation_unclear", "hold",
        "The visit has no date, and this eye was operated on more than once.",
        "Enter the date of the visit.",
    ),
    Rule(
        "visit_doubled", "hold",
        "This eye has another visit on the same day, or of the same time without a date ({other}).",
        "Keep one row for each visit, and enter its date.",
    ),
    Rule(
        "case_gone", "hold", "This case was in your last upload and is in this one no longer.",
        "Put the row back, or tell the coordinator why it left.",
    ),
    # What makes one value missing.
    Rule(
        "date_unreadable", "blank", "{title} cannot be read with certainty.",
        "Enter it as a date of the spreadsheet, or in the order that your crosswalk names.",
    ),
    Rule(
        "date_out_of_order", "blank", "{title} cannot be true beside the date of operation.",
        "Check both dates.",
    ),
    Rule(
        "number_unreadable", "blank", "{title} is not a number.",
        "Enter a plain number{in_unit}; leave it empty where it was not measured.",
    ),
    Rule(
        "unit_unknown", "blank", "{title} carries a unit that it cannot have.",
        "Write the number alone{in_unit}.",
    ),
    Rule(
        "value_estimate", "blank", "{title} is an estimate.",
        "Enter the measured value, or leave it empty.",
    ),
    Rule(
        "value_bound", "blank", "{title} is a bound (less or more than a number).",
        "Enter the measured value, or leave it empty.",
    ),
    Rule(
        "value_range", "blank", "{title} is a range.",
        "Enter the measured value, or leave it empty.",
    ),
    Rule(
        "number_ambiguous", "blank",
        "{title} can be read as two numbers: its mark may be one of decimals or of thousands.",
        "Write the number without a mark of thousands{in_unit}.",
    ),
    Rule(
        "formula_unstored", "blank", "{title} is a formula whose result is not in the file.",
        "Open the file in the spreadsheet program, let it calculate, save it and send it again.",
    ),
    Rule(
        "error_value", "blank", "{title} holds an error of the spreadsheet.",
        "Mend the formula, or type the value.",
    ),
    Rule(
        "word_unknown", "blank", "{title} is not a word that is known for this field.",
        "Use a word of the data dictionary, or have the coordinator add yours to the crosswalk.",
    ),
    Rule(
        "word_ambiguous", "blank", "{title} holds words for more than one code ({other}).",
        "Name one.",
    ),
    Rule(
        "acuity_unreadable", "blank", "{title} is not an acuity.",
        "Enter it as the rest of the column is written.",
    ),
    Rule(
        "acuity_notation_differs", "blank",
        "{title} is not written in the notation of its column.",
        "Rewrite the value in that notation.",
    ),
    Rule(
        "acuity_became_date", "blank", "{title} was turned into a date by the spreadsheet.",
        "Format the cell as text and type the acuity again.",
    ),
    Rule(
        "acuity_no_letters", "blank", "{title} says that no letter was read: a bound, no acuity.",
        "Enter what was seen at all: counting fingers, hand motion, light perception or none.",
    ),
    Rule(
        "acuity_near", "blank", "{title} is a near acuity.",
        "Enter the distance acuity; near acuity is not read.",
    ),
    Rule(
        "ring_radii_unreadable", "blank",
        "{title} is no list of radii that increase from the centre out without a gap.",
        "Enter each ring's outer radius in degrees, as text: 2/5/10/15/25.",
    ),
    Rule(
        "outside_possible", "blank",
        "{title} lies outside what is possible ({range}).",
        "Check the value and its unit.",
    ),
    Rule(
        "share_under_one", "blank",
        "{title} is under 1 %; it may be a fraction of one.",
        "Write it in per cent, or have the crosswalk name the unit 'fraction'.",
    ),
    Rule(
        "minimum_over_base", "blank", "The minimum diameter is larger than the base diameter.",
        "Check whether the two were swapped, and their units.",
    ),
    Rule(
        "fixation_order", "blank", "Fixation within 1 degree is more than within 2 degrees.",
        "Check whether the two were swapped.",
    ),
    # What concerns a whole column.
    Rule(
        "unit_changed", "blank",
        "The numbers under '{heading}' {other} since last week; none is used.",
        "Undo the change of unit, or have the crosswalk name the new one; where the numbers are "
        "right as they are, have it say since which week they are.",
    ),
    Rule(
        "unit_row_differs", "blank",
        "The row of units below '{heading}' says {other}, the crosswalk does not; "
        "none of the column is used.",
        "Have the crosswalk name the unit in which the column is written.",
    ),
    Rule(
        "acuity_notation_unnamed", "blank",
        "The notation of the numbers under '{heading}' cannot be told from them; none is used.",
        "Have the crosswalk name the notation; a letter score needs its scale too.",
    ),
    Rule(
        "loss_sign_unclear", "blank",
        "The numbers under '{heading}' are mostly above zero; whether that is loss is not said, "
        "and none is used.",
        "Have the crosswalk say whether loss is negative or positive in this column.",
    ),
    # What is used, and asked about.
    Rule(
        "outside_usual", "ask", "{title} is unusual (usually {range}).",
        "Confirm it, or correct it.",
    ),
    Rule("value_missing", "ask", "{title} is not given.", "Enter it if it is known."),
    Rule(
        "words_left_over", "ask", "Part of {title} is not understood (understood: {other}).",
        "Use words of the data dictionary; the part that was understood is used.",
    ),
    Rule(
        "acuity_pinhole", "ask",
        "{title} was taken through a pinhole; it is kept apart and not pooled.",
        "Nothing, if so; else take the mark out.",
    ),
    Rule(
        "acuity_uncorrected", "ask",
        "{title} is marked as taken without correction; it is used as it stands.",
        "Enter the acuity with correction if it was taken.",
    ),
    Rule(
        "acuity_line_unknown", "ask", "{title} is a fraction that no chart has a line for.",
        "Check it: letters beyond the line belong behind a plus or a minus.",
    ),
    Rule(
        "acuity_beyond_charts", "ask",
        "{title} is worse than charts measure; it counts as measured.",
        "Enter the words if it stands for counting fingers, hand motion or light perception; else "
        "confirm it.",
    ),
    Rule(
        "acuity_distance_unread", "ask",
        "{title} has a distance that cannot be read; the value without a distance is used.",
        "Write the distance with its unit, in m, cm or feet.",
    ),
    Rule(
        "acuity_letters_at_4m", "ask",
        "{title} is under 20 letters at 4 m, and the letters at 1 m are not given; those at 4 m "
        "alone are used.",
        "Add the letters read at 1 m, as 12+18.",
    ),
    Rule(
        "graft_smaller_than_hole", "ask",
        "The graft, or the shorter side of an oval one, is smaller than the hole's minimum "
        "diameter.",
        "Check both, and their units.",
    ),
    Rule(
        "graft_without_tissue", "ask",
        "{title} is given, and the technique ({other}) puts no tissue into the hole.",
        "Check which of the two is right.",
    ),
    Rule(
        "fields_disagree", "ask", "{title} and another cell of the row disagree ({other}).",
        "Correct the wrong one; the cell of the field itself is used.",
    ),
    Rule(
        "gas_concentration_unusual", "ask",
        "{title} is unusual for this gas (usually {other}).",
        "Confirm it, or correct gas or concentration.",
    ),
    Rule(
        "closure_under_tamponade", "ask",
        "{title} is graded under gas or oil; the grading is used.",
        "Confirm that the scan could be graded; else enter 'not gradable'.",
    ),
    Rule(
        "gradings_conflict", "ask",
        "{title} does not fit another grading of this eye ({other}).",
        "Check both; at a window the scan nearer to its target is used.",
    ),
    Rule(
        "luminance_unknown", "ask",
        "{title} is that of no known class of devices (usually {other}).",
        "Check it and its unit; the value of 0 dB stands in the device's handbook.",
    ),
    Rule(
        "reliability_differs", "ask",
        "{title} differs from what false positives and false negatives say; they are used.",
        "Check the three; fixation losses alone make no field unreliable here.",
    ),
    Rule(
        "age_differs", "ask", "The age does not fit the dates of birth and operation.",
        "Check age and both dates; the age from the dates is used.",
    ),
    Rule(
        "visit_window_differs", "ask",
        "The date puts this visit into another window than its heading says ({other}).",
        "Check the date; the date is used.",
    ),
    Rule(
        "row_hidden", "ask", "This row is hidden in the sheet; it is read like any other.",
        "Unhide it, or delete it if it should not be counted.",
    ),
    Rule(
        "row_left_out", "ask", "This row is no record: it looks like a total, a legend or a note.",
        "Nothing, if so; else fill in record number and eye.",
    ),
    Rule(
        "decimal_mark_differs", "ask",
        "{title} is written with the other decimal mark than the crosswalk names.",
        "Write decimals with one mark everywhere; the number was read as it stands.",
    ),
    Rule(
        "day_number", "ask",
        "{title} stands as a bare number; it was read as the spreadsheet's own number of a day.",
        "Format the cell as a date, and check it.",
    ),
    Rule(
        "record_number_respelled", "ask",
        "{title} is typed differently on the operation's row ({other}); they were matched, as no "
        "other fits.",
        "Type the record number in the same way everywhere.",
    ),
    Rule(
        "column_hidden", "ask",
        "The column '{heading}' is hidden in the sheet; it is read like any other.",
        "Unhide it, or have it taken out of the crosswalk.",
    ),
    Rule(
        "sheet_hidden", "ask", "This sheet is hidden; it is read like any other.",
        "Unhide it, or have it taken out of the crosswalk.",
    ),
    Rule(
        "sheet_not_read", "ask",
        "This sheet has the headings of a table that is read from another sheet; it is not read.",
        "Nothing, if it is a copy; else have the crosswalk name it.",
    ),
    Rule(
        "record_number_alike", "ask",
        "{title} differs from the one of another row ({other}) by zeros, spaces or case alone; "
        "they count as two patients.",
        "Type the record number in the same way everywhere, if it is the same patient.",
    ),
    Rule(
        "heading_repeated", "ask", "This row repeats the headings; it is no record.",
        "Nothing; or delete the row.",
    ),
    Rule(
        "unit_row", "ask", "This row holds units; it is no record.",
        "Nothing, if so; else fill in record number and eye.",
    ),
    Rule(
        "encoding_uncertain", "ask",
        "The text of this file fits more than one encoding; it was read as {other}.",
        "Check names and words with accents; save the file as 'CSV UTF-8' and send that.",
    ),
    Rule(
        "heading_renamed", "ask",
        "The heading '{heading}' is not in the sheet any more; {other} stands in its place.",
        "Put the heading back, or have the crosswalk changed.",
    ),
    Rule(
        "heading_moved", "ask",
        "The column '{heading}' stands elsewhere than last week ({other}); it was read there.",
        "Nothing, if the column was moved; else check that its cells moved with it.",
    ),
    Rule(
        "heading_added", "ask", "The column '{heading}' is new since last week; it is not read.",
        "Nothing, if it need not be read; else have the crosswalk name it.",
    ),
    Rule(
        "heading_dropped", "ask",
        "The column '{heading}' was there last week; it was not read then either.",
        "Nothing, if it was taken out on purpose.",
    ),
    Rule(
        "heading_missing", "ask", "The heading '{heading}' is not in the sheet; {other}.",
        "Put the heading back, or have the crosswalk changed.",
    ),
    Rule(
        "heading_doubled", "ask", "The heading '{heading}' stands {count} times; none is read.",
        "Give each column a heading of its own.",
    ),
)  # fmt: skip

RULES: dict[str, Rule] = {rule.name: rule for rule in _DECLARED}
