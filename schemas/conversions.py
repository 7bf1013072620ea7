"""Rules by which a value is made of what a cell says: each with a name, a version and a source.

The warehouse keeps name and version beside every value (`cells`), so that a change of rule can be
traced to the figures that moved. A value that is worked out from others has its column's name for
a rule, and the version that the codebook declares for the column. Units, off-chart sets and words
are declared elsewhere; their rules are derived here.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, RecordKind, table_fields, upload_fields
from schemas.codes import NOTATION
from schemas.conventions import (
    CLOSURE_GRADINGS,
    FIELD_RELIABILITY,
    OFF_CHART_SETS,
    SIZE_SCHEMES,
    Convention,
)
from schemas.units import UNITS, Unit, unit_sign

AS_TYPED = "as_typed"
OWN_CODE = "crosswalk_code"
FINGERS_AT_DISTANCE = "counting_fingers_at_distance"
TECHNIQUE_TEXT = "technique_text"
TAMPONADE_TEXT = "tamponade_text"
POSTURE_TEXT = "posture_text"
RING_RADII = "ring_radii"
LOSS_SIGN_TURNED = "loss_sign_turned"
MEAN_OF_DIAMETERS = "mean_of_two_diameters"

_DICOM = "DICOM PS3.17, RR.2.2"
_LETTERS = (
    "Novel method for analyzing Snellen visual acuity measurements, Retina 2010 (year from "
    "memory): 85 - 50 logMAR; its inverse from memory"
)
_LETTER_WORTH = (
    "0.02 a letter is arithmetic on lines of five letters 0.1 apart, and true on no others (Eye "
    "2021, doi:10.1038/s41433-021-01767-9); that letters are counted there is a project choice"
)
_WITH_PARTIAL_LINES = ("snellen_feet", "snellen_metres", "decimal", "logmar")

_NOMINAL_DISC = (
    "teaching value, common practice, no source; 1800 µm elsewhere, from memory; measured discs "
    "run from 1500 to 2100 µm"
)

# Concepts that are heard in the texts about an operation, by rule, and the vocabularies by which
# all of these texts are read.
NOTE_CONCEPTS: dict[str, tuple[str, ...]] = {
    TECHNIQUE_TEXT: (
        "graft_material", "harvest_method", "pfcl_use", "viscoelastic", "adjunct", "donor_laser",
        "tamponade", "posture", "stages",
    ),
    TAMPONADE_TEXT: ("tamponade", "posture"),
    POSTURE_TEXT: ("posture", "pfcl_use"),
}  # fmt: skip
NOTE_WORDS = (
    "negation", "heading_only", "later_step", "technique_subject", "filler", "operation_note",
    "donor_region", "posture", "duration", "number_word", "note_unit", "inexact", "note_answer",
    "missing",
)  # fmt: skip
_NOTE_RULES = {  # version of the reading, and what it does
    TECHNIQUE_TEXT: ("4", "Phrases of a technique text to codes; stages counted from its plan."),
    TAMPONADE_TEXT: ("4", "Phrases of a tamponade text to codes."),
    POSTURE_TEXT: ("2", "Phrases of a posture text to code and days."),
}

# What each notation's reading is by, see `transforms.harmonise.acuity`.
_NOTATION_RULES = {
    "snellen_feet": ("logMAR = log10(denominator / numerator)", _DICOM),
    "snellen_metres": ("logMAR = log10(denominator / numerator)", _DICOM),
    "decimal": ("logMAR = -log10(decimal acuity)", _DICOM),
    "logmar": ("logMAR as written", "none needed"),
    "letters": ("logMAR = 1.7 - 0.02 letters", _LETTERS),
    "letters_100": ("logMAR = 2.0 - 0.02 letters", _DICOM),
    "letters_4m": (
        "letters at 4 m of 20 and over: logMAR = 1.1 - 0.02 letters; fewer, with those at 1 m: "
        "logMAR = 1.7 - 0.02 (letters at 4 m + letters at 1 m)",
        "protocols of the early treatment studies, from memory",
    ),
    "letters_1m": ("logMAR = 1.7 - 0.02 letters", "the same protocols, from memory"),
}


@dataclass(frozen=True)
class Conversion:
    """One rule; `what` says in words or as a formula what it does."""

    name: str
    version: str
    what: str
    source: str = "common practice, no source"


_AS_IT_STANDS = (
    Conversion(AS_TYPED, "1", "The number or word as it stands.", "none needed"),
    Conversion(OWN_CODE, "1", "The centre's own code, as its crosswalk translates it.",
               "the centre's crosswalk"),
)  # fmt: skip

_FINGERS = Conversion(
    FINGERS_AT_DISTANCE, "1",
    "logMAR = log10(60 / distance in m), no better than 1.0 and no worse than hand motion.",
    "arithmetic, from a finger as large as a 20/200 letter: J Refract Surg 1997;13:388-391, that "
    "from memory; both bounds are a project choice",
)  # fmt: skip

_DECLARED = (
    Conversion(
        RING_RADII, "1",
        "Outer radii or edge-to-edge ranges in degrees, increasing and parted in any way; an "
        "outermost ring without an outer radius stays open (>15).",
    ),
    Conversion(MEAN_OF_DIAMETERS, "1",
               "Square root of the product of an oval graft's two diameters.", "arithmetic"),
    Conversion(LOSS_SIGN_TURNED, "1", "Mean defect, positive for loss, with its sign turned.",
               "arithmetic; that some perimeters count loss as positive is from memory"),
)  # fmt: skip


def acuity_rule(notation: str, *, by_letter: bool = False) -> str:
    """The rule by which an acuity in a notation is read, its partial line counted or not."""
    return f"acuity_{notation}" + ("_by_letter" if by_letter else "")


def off_chart_rule(set_name: str) -> str:
    """The rule by which an off-chart word has the value of a named set."""
    return f"off_chart_{set_name}"


def unit_rule(unit: str, base: str) -> str:
    """The rule by which a number in one unit becomes one in the codebook's."""
    return AS_TYPED if unit == base else f"{unit}_to_{base}"


def words_rule(concept: str) -> str:
    """The rule by which a word is a code of a concept."""
    return f"words_{concept}"


def grading_rule(scheme: str) -> str:
    """The rule by which a grade of a published scheme is a state of the hole."""
    return f"grading_{scheme}"


def rule_version(name: str) -> str:
    """The version of a rule of this module. Raises KeyError for a name that is none."""
    return conversions()[name].version


@cache
def conversions() -> dict[str, Conversion]:
    """Every rule, by name."""
    return {each.name: each for group in conversion_groups().values() for each in group}


@cache
def conversion_groups() -> dict[str, tuple[Conversion, ...]]:
    """Every rule, by what it is about, in the order of the dictionary page."""
    return {
        "Cells as they stand": _AS_IT_STANDS,
        "Acuity": tuple(_of_acuity()),
        "Acuity off the chart": tuple(_off_chart()),
        "Units": tuple(_of_units()),
        "Closure gradings": tuple(_of_gradings()),
        "Words": tuple(_of_words()),
        "Texts and signs": (*_of_notes(), *_DECLARED),
    }


def _of_acuity() -> list[Conversion]:
    found = []
    for notation in NOTATION:
        what, source = _NOTATION_RULES[notation]
        rule = acuity_rule(notation)
        found.append(Conversion(rule, "1", what, source))
        if notation in _WITH_PARTIAL_LINES:
            found.append(
                Conversion(
                    acuity_rule(notation, by_letter=True), "1",
                    f"{what}; less 0.02 a letter beyond the line, more for one missed on it",
                    f"as {rule}; {_LETTER_WORTH}",
                )
            )  # fmt: skip
    return found


def _off_chart() -> list[Conversion]:
    words = _digest("off_chart")
    return [
        _FINGERS,
        *(
            Conversion(
                off_chart_rule(name), f"{_of_content(values)}-{words}", values.title, values.source
            )
            for name, values in OFF_CHART_SETS.items()
        ),
    ]


def _of_gradings() -> list[Conversion]:
    return [
        Conversion(grading_rule(name), _of_content(scheme), scheme.title, scheme.source)
        for name, scheme in CLOSURE_GRADINGS.items()
    ]


def _of_units() -> list[Conversion]:
    return [
        Conversion(
            unit_rule(name, base), f"1-{_hash(what)}", what,
            _NOMINAL_DISC if unit.is_nominal else "arithmetic",
        )
        for base, units in UNITS.items()
        for name, unit in units.items()
        if name != base
        for what in (_in_words(name, unit, base),)
    ]  # fmt: skip


def _in_words(name: str, unit: Unit, base: str) -> str:
    return (
        f"{unit_sign(name)} x {unit.factor:.12g} = {unit_sign(base)}"
        + (", nominal" if unit.is_nominal else "")
        + (", divided by the hexagon's area in deg²" if unit.is_per_area else "")
    )


def _of_words() -> list[Conversion]:
    concepts = {
        field.spec.codes.name: field.spec.title
        for kind in RECORD_KINDS
        for field in upload_fields(kind).values()
        if field.spec.codes is not None and field.spec.reads == "code"
    }
    return [
        Conversion(words_rule(concept), _digest(concept), f"Words for: {title.lower()}.")
        for concept, title in {**concepts, "yes_no": "Yes or no"}.items()
    ]


def _of_notes() -> list[Conversion]:
    return [
        Conversion(rule, f"{version}-{_digest(*NOTE_CONCEPTS[rule], *NOTE_WORDS)}", what)
        for rule, (version, what) in _NOTE_RULES.items()
    ]


def _digest(*concepts: str) -> str:
    """A short digest of vocabularies: with a word of theirs the rule's version changes."""
    folder = files("schemas").joinpath("vocabularies")
    words = b"".join(folder.joinpath(f"{concept}.toml").read_bytes() for concept in concepts)
    return hashlib.sha256(words).hexdigest()[:8]


def _of_content(convention: Convention) -> str:
    """A convention's version with a digest of what it declares, so that no number changes under an
    old version."""
    return f"{convention.version}-{_hash(repr(convention))}"


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:8]


# Columns that are worked out by a convention, and the conventions by which they are.
_BY_CONVENTION: dict[str, tuple[Convention, ...]] = {
    "hole_size_class": (SIZE_SCHEMES["ivts_2013"],),
    "hole_size_band": (SIZE_SCHEMES["bands_above_400"],),
    "perimetry_reliable": tuple(FIELD_RELIABILITY.values()),
}


@cache
def worked_out_versions(kind: RecordKind) -> dict[str, str]:
    """Version of the rule of each column where it is worked out from others, by column."""
    return {
        column: "-".join([str(spec.version), *map(_of_content, _BY_CONVENTION.get(column, ()))])
        for column, spec in table_fields(RECORD_TABLE[kind]).items()
    }
