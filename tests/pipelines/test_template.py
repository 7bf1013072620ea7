"""The command `template`, and centres that send filled templates instead of a crosswalk."""

import hashlib

import openpyxl
import pytest
from filled_template import CASES, filled_template, operations_csv
from small_study import STUDY_TOML, W1, W2, case, make_study
from typer.testing import CliRunner

from pipelines.check import check
from pipelines.command import app
from pipelines.errors import StudyError
from pipelines.plan import read_all_settings
from pipelines.template import write_template
from schemas.codes import NOTATION
from schemas.settings_file import SettingsError
from schemas.template import NOTATION_SIGNS


@pytest.fixture
def study(tmp_path):
    """A study in which birch has a crosswalk, and alder has none."""
    made = make_study(tmp_path / "study")
    (made.folder.root / "crosswalks" / "alder.toml").unlink()
    return made


def send(study, week, site, name, content):
    path = study.folder.uploads / week / site / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return path


def invoke(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_the_workbook_is_named_by_its_language_and_lies_in_the_current_folder(
    study, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    done = invoke("template", study.folder.root, "--language", "pt")
    assert (done.exit_code, done.stdout) == (0, "Written: foveapool_pt.xlsx\n")
    assert (tmp_path / "foveapool_pt.xlsx").is_file()


@pytest.mark.parametrize("notation", NOTATION)
def test_acuities_can_be_asked_for_in_every_notation(notation, study, tmp_path):
    to = tmp_path / f"{notation}.xlsx"
    done = invoke("template", study.folder.root, "--acuity", notation, "--to", to)
    assert done.exit_code == 0, done.output
    headings = [cell.value for cell in openpyxl.load_workbook(to)["Visits"][1]]
    assert f"Visual acuity ({NOTATION_SIGNS[notation]})" in headings


def test_another_folder_or_file_can_be_named(study, tmp_path):
    assert write_template(study.folder.root, "en", "logmar", tmp_path).name == "foveapool_en.xlsx"
    named = tmp_path / "Upload 2026.xlsx"
    assert write_template(study.folder.root, "en", "logmar", named) == named


def test_a_file_that_is_there_is_never_overwritten(study, tmp_path):
    path = write_template(study.folder.root, "en", "logmar", tmp_path)
    path.write_bytes(b"filled")
    done = invoke("template", study.folder.root, "--to", tmp_path)
    assert (done.exit_code, path.read_bytes()) == (2, b"filled")
    assert done.stderr == (
        f"foveapool: {path}: there is such a file already; move it, or name another place with "
        "--to\n"
    )


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"language": "it"}, "--language: there is no 'it'; one of en, es, fr, de, pt"),
        ({"notation": "logmr"}, "--acuity: unknown notation 'logmr' (did you mean 'logmar'?); "),
        ({"to": "upload.csv"}, "no folder and no name of an .xlsx file; name one with --to"),
        ({"to": "nowhere/upload.xlsx"}, "nowhere: there is no such folder; make it first"),
    ],
)
def test_what_cannot_be_written_is_told_in_one_line(options, told, study, tmp_path):
    asked = {"language": "en", "notation": "logmar", "to": "."} | options
    asked["to"] = tmp_path / asked["to"]
    with pytest.raises(StudyError) as refused:
        write_template(study.folder.root, **asked)
    assert told in str(refused.value)
    assert list(tmp_path.glob("*.xlsx")) == []


def test_a_folder_without_a_study_has_no_template(tmp_path):
    with pytest.raises(SettingsError, match=r"study\.toml"):
        write_template(tmp_path, "en", "logmar", tmp_path)


def test_the_template_of_the_same_study_has_the_same_bytes(study, tmp_path):
    paths = [
        write_template(study.folder.root, "de", "decimal", tmp_path / name)
        for name in ("first.xlsx", "second.xlsx")
    ]
    assert len({hashlib.sha256(path.read_bytes()).hexdigest() for path in paths}) == 1


def test_check_of_a_filled_template_ends_with_0(study):
    path = send(study, W1, "alder", "alder.xlsx", filled_template("es"))
    done = invoke("check", path, "--site", "alder")
    assert done.exit_code == 0, done.output
    assert "0 held, 0 findings" in done.stdout


def test_check_says_what_to_do_with_another_sheet_of_a_centre_without_crosswalk(study):
    path = study.send(W1, "alder", case("1"))
    with pytest.raises(StudyError) as refused:
        check(path, "alder", None)
    assert str(refused.value) == (
        f"{path}: this centre has no crosswalks/alder.toml and this is no filled template; make a "
        "crosswalk with foveapool draft, or fill in the workbook of foveapool template"
    )


def test_a_merge_takes_the_filled_template_of_a_centre_without_crosswalk(study):
    send(study, W1, "alder", "alder.xlsx", filled_template("fr"))
    study.send(W1, "birch", case("1"))
    study.merge()
    assert len(study.as_of("operations", W1, "alder")) == CASES
    assert len(study.as_of("operations", W1, "birch")) == 1
    assert study.as_of("findings", W1, "alder").empty


def test_a_merge_takes_the_operations_sheet_saved_as_text(study):
    send(study, W1, "alder", "operations.csv", operations_csv("de", ";", ","))
    study.merge()
    assert len(study.as_of("operations", W1, "alder")) == CASES
    assert set(study.as_of("operations", W1, "alder")["axial_length_mm"]) == {24.5}


def test_another_sheet_of_a_centre_without_crosswalk_is_set_aside(study):
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("1"))
    study.merge()
    log = study.log("uploads").set_index("site")
    assert log.loc["alder", "status"] == "set_aside"
    assert "no filled template" in log.loc["alder", "reason"]
    assert log.loc["birch", "status"] == "merged"


def test_a_centre_with_a_crosswalk_may_go_over_to_the_template(study):
    study.send(W1, "birch", case("0001"), case("0002"))
    send(study, W2, "birch", "birch.xlsx", filled_template("en"))
    study.merge()
    assert study.log("uploads")["status"].to_list() == ["merged", "merged"]
    assert len(study.as_of("operations", W2, "birch")) > 2


def test_no_word_of_the_file_s_name_is_kept_that_may_be_a_patient_s(study):
    send(study, W1, "alder", "Operaciones Vellumcrest.xlsx", filled_template("es"))
    study.merge()
    assert study.log("uploads")["file_name"].to_list() == ["Operaciones ….xlsx"]


def test_a_crosswalk_that_is_made_later_is_read_from_then_on(study):
    before = read_all_settings(study.folder)
    text = (study.folder.root / "crosswalks" / "birch.toml").read_text(encoding="utf-8")
    own = study.folder.root / "crosswalks" / "alder.toml"
    own.write_text(text.replace('"birch"', '"alder"'), encoding="utf-8")
    after = read_all_settings(study.folder)
    assert before.crosswalks["alder"].title == "alder"
    assert after.crosswalks["alder"].title == "Birchmoor Eye Clinic"
    assert before.read_with["alder"] != after.read_with["alder"]


def test_the_instructions_name_the_study(study, tmp_path):
    path = write_template(study.folder.root, "en", "logmar", tmp_path)
    title = openpyxl.load_workbook(path)["Instructions"]["A1"].value
    assert f'"{title}"' in STUDY_TOML
