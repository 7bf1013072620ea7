"""The command `draft`: from the files of a centre to a crosswalk that `check` works with."""

import shutil

import pytest
from merged_sample import SAMPLE
from small_study import W1, case, make_study
from typer.testing import CliRunner

from pipelines.check import check
from pipelines.command import app
from pipelines.draft import draft_crosswalk
from pipelines.errors import StudyError
from schemas.crosswalk import read_crosswalk
from schemas.study import read_study

WEEK = "2026-W46"
SITES = read_study(SAMPLE).sites


def invoke(*words):
    return CliRunner().invoke(app, ["draft", *map(str, words)])


def assert_refused(done, *parts):
    """One line on standard error that holds the parts, and status 2."""
    assert (done.exit_code, done.stdout) == (2, "")
    line, rest = done.stderr.split("\n", 1)
    assert rest == ""
    for part in parts:
        assert str(part) in line


@pytest.fixture
def upload(tmp_path):
    study = make_study(tmp_path / "study")
    return study.send(W1, "alder", *(case(str(n), MLD=str(600 + 10 * n)) for n in range(1, 9)))


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """The sample study with drafts in the place of its crosswalks."""
    folder = tmp_path_factory.mktemp("drafted") / "study"
    shutil.copytree(SAMPLE / "uploads" / WEEK, folder / "uploads" / WEEK)
    shutil.copy(SAMPLE / "study.toml", folder)
    (folder / "crosswalks").mkdir()
    for site in SITES:
        files = sorted((folder / "uploads" / WEEK / site).iterdir())
        to = folder / "crosswalks" / f"{site}.toml"
        done = invoke(*files, "--site", site, "--study", folder, "--to", to)
        assert done.exit_code == 0, done.output
    return folder


@pytest.mark.parametrize("site", SITES)
def test_the_draft_of_a_sample_centre_is_a_crosswalk_that_check_reads_all_its_rows_with(
    sample, site
):
    read_crosswalk(sample, read_study(sample), site)
    for file in sorted((sample / "uploads" / WEEK / site).iterdir()):
        by_draft = check(file, site, sample)
        by_hand = check(SAMPLE / file.relative_to(sample), site, SAMPLE)
        assert by_draft.rows_read == by_hand.rows_read
        assert by_draft.rows_held == by_hand.rows_held


def test_without_a_file_to_write_the_draft_is_printed(upload):
    done = invoke(upload, "--site", "alder")
    assert done.exit_code == 0
    assert 'site     = "alder"' in done.stdout


def test_the_windows_of_the_study_are_used(upload):
    study = upload.parents[3]
    text = (study / "study.toml").read_text(encoding="utf-8").replace("m3 ", "quarter ")
    (study / "study.toml").write_text(text.replace('"m3"', '"quarter"'), encoding="utf-8")
    with_study = draft_crosswalk([upload], "alder", study, None)
    assert [visit.at for visit in with_study.proposal.tables[0].visits] == ["quarter"]
    without = draft_crosswalk([upload], "alder", None, None)
    assert [visit.at for visit in without.proposal.tables[0].visits] == ["m3"]


def test_a_language_that_is_asked_for_is_taken(upload):
    assert (
        'language = "pt"  # as asked'
        in invoke(upload, "--site", "alder", "--language", "pt").output
    )


def test_a_file_that_is_there_is_never_overwritten(upload, tmp_path):
    to = tmp_path / "alder.toml"
    to.write_text("a day's work", encoding="utf-8")
    assert_refused(invoke(upload, "--site", "alder", "--to", to), to, "is there already")
    assert to.read_text(encoding="utf-8") == "a day's work"


def test_what_cannot_be_drafted_is_told_in_one_line(upload, tmp_path):
    damaged = tmp_path / "damaged.xlsx"
    damaged.write_bytes(b"PK\x03\x04 and no more")
    assert_refused(invoke(damaged, "--site", "alder"), damaged, "damaged")
    assert_refused(invoke(tmp_path / "gone.csv", "--site", "alder"), "there is no such file")
    assert_refused(invoke(upload, "--site", "Alder!"), "'Alder!'", "lower-case")
    assert_refused(invoke(upload, "--site", "alder", "--language", "it"), "'it'", "one of en")


def test_two_files_of_one_name_are_refused(upload, tmp_path):
    other = tmp_path / upload.name
    shutil.copy(upload, other)
    with pytest.raises(StudyError, match="two files have this name"):
        draft_crosswalk([upload, other], "alder", None, None)
