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
        (', notation = "snellen_feet"', "", 17, "name the notation"),
        ('at      = "m3"', 'at      = "m9"', 29, "is no window of study.toml"),
        ('decimal = "comma"', 'decimal = "dot"', 4, "point"),
        ('  eye               = "Eye"\n', "", 7, "must name eye"),
        ('title   = "Curlew Point"', 'titel   = "Curlew Point"', 2, "did you mean 'title'?"),
    ],
)  # fmt: skip
def test_mistakes_in_a_crosswalk(study, find, put, line, told):
    folder = study(crosswalk_text=CROSSWALK.replace(find, put))
    with pytest.raises(SettingsError) as error:
        read_crosswalk(folder, read_study(folder), "curlew")
    assert told in str(error.value)
    assert f"curlew.toml, line {line}:" in str(error.value)


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
