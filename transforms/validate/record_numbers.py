"""Record numbers that two sheets spell differently: matched where only one patient fits.

Spreadsheets lose leading zeros, people add spaces and change case.
"""

from __future__ import annotations

import re
import unicodedata

import pandas as pd

from transforms.findings import gathered, raised
from transforms.reading import cell_text
from transforms.records import Records

_LEADING_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")
_NO_DECIMALS = re.compile(r"(?<=\d)\.0$")
_DASHES = re.compile("[\u2010\u2011\u2012\u2013\u2014\u2212]")
_SPACES = re.compile(r"\s+")


def loose_form(number: str) -> str:
    """The form in which two spellings of one record number agree.

    Case, spaces, kinds of dash and leading zeros are left out, and the ".0" of a number that became
    text. Marks stay: 1-23 and 12-3 are two patients.
    """
    plain = _SPACES.sub("", unicodedata.normalize("NFKC", number).casefold())
    return _LEADING_ZEROS.sub("", _DASHES.sub("-", _NO_DECIMALS.sub("", plain)))


def match_respelled(
    records: Records, identities: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Gives visits and complications the record number of their operation, where it is spelled
    differently there.

    Takes the identities of `read_identities`; returns them with patient_id as on the operation's
    row, and findings: one for each spelling that was matched, one for each row that more than one
    patient fits.
    """
    if records.index.empty:
        return identities, gathered()
    numbers = _typed_numbers(records, identities)
    is_operation = numbers["kind"] == "operation"
    alike = _alike(numbers[is_operation])
    operations, others = numbers[is_operation], numbers[~is_operation & numbers["parent"].isna()]
    differing = others[~others["typed"].isin(set(operations["typed"]))]
    if differing.empty or operations.empty:
        return identities, alike
    fitting = _fitting(differing, operations)
    count = fitting.map(len)
    fits = fitting[count == 1].str[0]
    identities = identities.copy()
    identities.loc[fits.index, "patient_id"] = fits
    place = operations.drop_duplicates("patient_id").set_index("patient_id")["place"]
    once = differing.loc[fits.index].drop_duplicates(["sheet", "typed"])
    respelled = raised(
        "record_number_respelled", _where(once), other=fits[once.index].map(place).to_numpy()
    )
    several = [", ".join(place[list(patients)]) for patients in fitting[count > 1]]
    ambiguous = raised("record_number_ambiguous", _where(differing[count > 1]), other=several)
    return identities, gathered(alike, respelled, ambiguous)


def _fitting(differing: pd.DataFrame, operations: pd.DataFrame) -> pd.Series:
    """The patients with an operation that each of the numbers may be."""
    patients = operations["patient_id"].drop_duplicates()
    known = set(patients)
    by_form = patients.groupby(patients.map(loose_form)).agg(list)
    fitting = [
        [patient] if patient in known else by_form.get(loose_form(patient), [])
        for patient in differing["patient_id"]
    ]
    return pd.Series(fitting, index=differing.index, dtype="object")


def _typed_numbers(records: Records, identities: pd.DataFrame) -> pd.DataFrame:
    """Records with a readable number: kind, parent, upload, sheet, cell, the number as typed, and
    its place as text."""
    cells = records.field("patient_id")[["cell", "value"]]
    known = identities.loc[identities["patient_id"].notna(), ["patient_id"]]
    numbers = known.join(records.index[["kind", "parent", "upload", "sheet"]]).join(cells)
    numbers = numbers[numbers["cell"].notna()]
    typed = numbers["value"].map(lambda value: " ".join(cell_text(value).split()))
    return numbers.assign(typed=typed, place=numbers["sheet"] + "!" + numbers["cell"])


def _alike(operations: pd.DataFrame) -> pd.DataFrame:
    """Findings for patients whose number is another one's in all but zeros, spaces and dashes."""
    patients = operations.drop_duplicates("patient_id")
    forms = patients["patient_id"].map(loose_form)
    first = patients["place"].groupby(forms).transform("first")
    again = forms.duplicated()
    return raised("record_number_alike", _where(patients[again]), other=first[again].to_numpy())


def _where(numbers: pd.DataFrame) -> pd.DataFrame:
    where = numbers[["kind", "upload", "sheet", "cell"]].assign(field="patient_id")
    return where.rename_axis("record").reset_index()
