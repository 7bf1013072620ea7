"""Study settings and crosswalks: what is accepted, and how mistakes are told."""

import pytest

from schemas.crosswalk import read_crosswalk
from schemas.settings_file import SettingsError, line_of
from schemas.study import read_study

STUDY = """\
[study]
name  = "Saltmarsh"
sites = ["curlew"]

[visits]
m1 = [14, 30, 59]
m3 = [60, 90, 135]

[closure]
primary = "m3"
"""

CROSSWALK = """\
site    = "curlew"
title   = "Curlew Point"
dates   = "day-first"
decimal = "comma"
missing = ["", "NA"]

[[table]]
sheet = "Log"
row   = "operation"
  [table.fields]
  patient_id        = "No."
  eye               = "Eye"
  operation_date    = "Date"
  hole_min_diameter = { heading = "MLD", unit = "um" }
  [[table.visits]]
  at      = "baseline"
  acuity  = { heading = "VA pre", notation = "snellen_feet" }
  closure = "OCT pre"

[[table]]
sheet = "Pairs"
row   = "patient"
  [table.fields]
  patient_id = "No."
  [[table.eyes]]
  eye            = "right"
  operation_date = "Date R"
    [[table.eyes.visits]]
    at      = "m3"
    closure = "OCT R 3m"
"""

VA = 'notation = "snellen_feet"'


@pytest.fixture
def study(tmp_path):
    def write(study_text=STUDY, crosswalk_text=CROSSWALK):
        (tmp_path / "study.toml").write_text(study_text)
        (tmp_path / "crosswalks").mkdir(exist_ok=True)
        (tmp_path / "crosswalks" / "curlew.toml").write_text(crosswalk_text)
        return tmp_path

    return write


def test_settings_that_are_right_are_read(study):
    folder = study()
    settings = read_study(folder)
    assert settings.visits == {"m1": (14, 30, 59), "m3": (60, 90, 135)}
    assert settings.disclosure.age_top == 90
    walk = read_crosswalk(folder, settings, "curlew")
    assert walk.tables[0].visits[0].fields["closure"].heading == "OCT pre"
    assert walk.tables[1].eyes[0].visits[0].at == "m3"


@pytest.mark.parametrize(
    ("find", "put", "line", "told"),
    [
        ("[closure]", "[closre]", 9, "unknown key 'closre' (did you mean 'closure'?)"),
        ('primary = "m3"', 'primary = "m4"', 1, "closure.primary names 'm4'"),
        ("m3 = [60", "m3 = [50", 5, "begins on day 50"),
        ("m3 = [60, 90", "m3 = [60, 200", 5, "200 lies outside 60 to 135"),
        ('sites = ["curlew"]', 'sites = ["Curlew"]', 3, "lower-case"),
        ('sites = ["curlew"]', 'sites = ["curlew", "curlew"]', 3, "named twice"),
        (
            'primary = "m3"',
            'primary = "m3"\n[acuity]\noff_chart = "nope"',
            12,
            "unknown set 'nope'",
        ),
    ],
)
def test_mistakes_in_study_toml(study, find, put, line, told):
    folder = study(study_text=STUDY.replace(find, put))
    with pytest.raises(SettingsError) as error:
        read_study(folder)
    assert told in str(error.value)
    assert f"study.toml, line {line}:" in str(error.value)


@pytest.mark.parametrize(
    ("find", "put", "line", "told"),
    [
        ('closure = "OCT pre"', 'closre = "OCT pre"', 18, "did you mean 'closure'?"),
        ('"OCT R 3m"', '"OCT R 3m"\n    iopp = "P"', 31, "did you mean 'iop'?"),
        ('unit = "um"', 'unit = "inch"', 14, "unit 'inch' is not possible; one of: um, mm, dd"),
        (', unit = "um"', "", 14, "name its unit"),
        ('"snellen_feet"', '"snellen_foot"', 17, "did you mean 'snellen_feet'?"),
        ('at      = "m3"', 'at      = "m9"', 29, "is no window of study.toml"),
        ('decimal = "comma"', 'decimal = "dot"', 4, "point"),
        ('  eye               = "Eye"\n', "", 7, "must name eye"),
        ('title   = "Curlew Point"', 'titel   = "Curlew Point"', 2, "did you mean 'title'?"),
        # Details of one kind of field.
        (VA, f'{VA}, correction = "correctd"', 17,
         "unknown correction 'correctd' (did you mean 'corrected'?); one of corrected, "),
        (VA, f"{VA}, letters_a_line = 0", 17, "greater than or equal to 1"),
        (VA, f'{VA}, loss = "positive"', 17, "only a mean deviation has loss; take it out"),
        (VA, f'{VA}, scheme = "types_2003"', 17, "only a closure has scheme; take it out"),
        ('= "OCT pre"', '= { heading = "OCT pre", notation = "logmar" }', 18,
         "'closure': only an acuity has notation; take it out"),
        ('= "OCT pre"', '= { heading = "OCT pre", letters_a_line = 5 }', 18,
         "'closure': only an acuity has letters_a_line; take it out"),
        ('= "OCT pre"', '= { heading = "OCT pre", scheme = "type_2003" }', 18,
         "unknown scheme 'type_2003' (did you mean 'types_2003'?); one of "),
        ('closure = "OCT pre"', 'acuity_pinhole = { heading = "PH", correction = "pinhole" }', 18,
         "'acuity_pinhole': only the field acuity has correction; take it out"),
        ('closure = "OCT pre"', 'perimetry_md = { heading = "MD", loss = "plus" }', 18,
         "'negative' or 'positive'"),
        ('closure = "OCT pre"', 'mferg_ring1_p1 = { heading = "R1", unit = "uV" }', 18,
         "'mferg_ring1_p1': area_deg2, the area of the ring's hexagon, goes with a unit of "
         "amplitude alone (uV or nV); name both or neither"),
        ('closure = "OCT pre"', 'mferg_ring1_p1 = { heading = "R1", area_deg2 = 5.7 }', 18,
         "name both or neither"),
        ('closure = "OCT pre"', 'mferg_ring1_p1 = { heading = "R1 (µV)", area_deg2 = 5.7 }', 18,
         "name both or neither"),
        ('closure = "OCT pre"', 'mferg_ring1_p1 = "R1 (µV)"', 18,
         "the heading 'R1 (µV)' says 'uV'; name it as unit"),
        ('row   = "operation"', 'row   = "visit"', 7, "belongs to row = "),
    ],
)  # fmt: skip
def test_mistakes_in_a_crosswalk(study, find, put, line, told):
    folder = study(crosswalk_text=CROSSWALK.replace(find, put))
    with pytest.raises(SettingsError) as error:
        read_crosswalk(folder, read_study(folder), "curlew")
    assert told in str(error.value)
    assert f"curlew.toml, line {line}:" in str(error.value)


def of_acuity(settings, folder):
    return read_crosswalk(folder, settings, "curlew").tables[0].visits[0].fields["acuity"]


def test_a_notation_may_be_left_out_to_be_told_from_the_cells(study):
    folder = study(crosswalk_text=CROSSWALK.replace(f", {VA}", ""))
    assert of_acuity(read_study(folder), folder).notation is None


def test_details_belong_to_the_fields_they_are_about(study):
    text = CROSSWALK.replace(VA, f'{VA}, letters_a_line = 5, correction = "corrected"')
    more = """
  perimetry_md   = { heading = "MD pre", loss = "positive" }
  mferg_ring1_p1 = { heading = "R1 pre (µV)", unit = "uV", area_deg2 = 5.7 }
  closure        = { heading = "OCT pre", scheme = "types_2003" }"""
    folder = study(crosswalk_text=text.replace('  closure = "OCT pre"', more))
    settings = read_study(folder)
    assert of_acuity(settings, folder).letters_a_line == 5
    fields = read_crosswalk(folder, settings, "curlew").tables[0].visits[0].fields
    assert (fields["perimetry_md"].loss, fields["mferg_ring1_p1"].area_deg2) == ("positive", 5.7)
    assert fields["closure"].scheme == "types_2003"


VISITS = """
[[table]]
sheet = "Seen"
row   = "visit"
  [table.fields]
  patient_id = "No."
  eye        = "Eye"
"""


@pytest.mark.parametrize("named", ["visit_date", "visit_time"])
def test_of_a_visits_date_and_its_time_in_words_one_is_enough(study, named):
    folder = study(crosswalk_text=f'{CROSSWALK}{VISITS}  {named} = "When"\n')
    assert named in read_crosswalk(folder, read_study(folder), "curlew").tables[2].fields


def test_a_table_of_visits_without_either_is_refused(study):
    folder = study(crosswalk_text=CROSSWALK + VISITS)
    with pytest.raises(SettingsError, match="must name visit_date or visit_time"):
        read_crosswalk(folder, read_study(folder), "curlew")


def test_a_file_that_is_not_there_or_no_toml(study, tmp_path):
    with pytest.raises(SettingsError, match="no such file"):
        read_study(tmp_path)
    with pytest.raises(SettingsError, match="no such folder"):
        read_study(tmp_path / "nowhere")
    with pytest.raises(SettingsError, match="not valid TOML"):
        read_study(study(study_text="[study"))


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("table", 1, "eyes", 0, "visits", 0, "closure"), 30),
        (("table", 1, "eyes", 0, "visits", 0, "fields", "closure"), 30),
        (("table", 0, "fields", "eye"), 12),
        (("table", 0, "visits", 0, "fields", "acuity", "notation"), 17),
        (("table", 7), 1),
    ],
)
def test_the_line_of_a_setting(path, line):
    assert line_of(CROSSWALK, path) == line
