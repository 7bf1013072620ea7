"""Outputs are built aside and switched in as one folder."""

import json
import shutil

import pytest
from merged_sample import checksums
from small_study import W1, W2, SmallStudy, case, make_study

from pipelines import outputs
from pipelines.outputs import are_current, build_outputs
from pipelines.plan import read_all_settings
from pipelines.study_folder import study_folder


def build(study):
    build_outputs(study.folder, read_all_settings(study.folder))


def is_current(study):
    return are_current(study.folder, read_all_settings(study.folder))


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Two centres and two weeks, with outputs: in the second week birch sent a broken file."""
    study = make_study(tmp_path_factory.mktemp("outputs") / "study")
    study.send(W1, "birch", case("1"), case("2", Eye="left"))
    study.send(W1, "alder", case("1"), case("1", Date="2025-06-04", OCT_3m="open"))
    study.send(W2, "alder", case("1", MLD="wide"), case("1", Date="2025-06-04", OCT_3m="open"))
    study.send_broken(W2, "birch")
    study.merge()
    build(study)
    return study


@pytest.fixture
def study(built, tmp_path):
    """A copy of it for a test to change."""
    shutil.copytree(built.folder.root, tmp_path / "study")
    return SmallStudy(study_folder(tmp_path / "study"))


def test_the_run_in_numbers(built):
    run = json.loads((built.folder.out / "run.json").read_text(encoding="utf-8"))
    assert {name: run[name] for name in ("study", "week", "previous_week", "eyes", "operations",
                                         "visits", "complications")} == {
        "study": "Tidewrack test series", "week": W2, "previous_week": W1,
        "eyes": 3, "operations": 4, "visits": 4, "complications": 0,
    }  # fmt: skip
    assert [week["week"] for week in run["weeks"]] == [W1, W2]


def test_the_run_in_numbers_for_a_centre_that_was_merged(built):
    run = json.loads((built.folder.out / "run.json").read_text(encoding="utf-8"))
    assert run["sites"]["alder"] == {
        "title": "Aldermere Eye Unit", "sent": 1, "set_aside": [], "last_good_week": W2,
        "rows_read": 4, "rows_merged": 4, "rows_held": 0, "findings_open": 1,
    }  # fmt: skip


def test_the_run_in_numbers_for_a_centre_that_was_set_aside(built):
    run = json.loads((built.folder.out / "run.json").read_text(encoding="utf-8"))
    told = run["sites"]["birch"]
    (aside,) = told.pop("set_aside")
    assert aside["file"] == "series.xlsx"
    assert aside["reason"]
    assert told == {
        "title": "Birchmoor Eye Clinic", "sent": 1, "last_good_week": W1,
        "rows_read": 0, "rows_merged": 0, "rows_held": 0, "findings_open": 0,
    }  # fmt: skip


def test_nothing_is_left_beside_the_outputs(built):
    names = {path.name for path in built.folder.root.iterdir()}
    assert names == {"study.toml", "crosswalks", "uploads", "store", "out"}


def test_returns_are_for_the_owner_alone(built):
    returns = built.folder.out / "returns"
    assert returns.stat().st_mode & 0o777 == 0o700
    assert {path.name for path in returns.iterdir()} == {"alder", "birch"}


def test_built_again_no_byte_differs(study):
    before = checksums(study.folder.out)
    build(study)
    assert checksums(study.folder.out) == before


def test_what_no_longer_belongs_there_goes(study):
    (study.folder.out / "returns" / "cedar").mkdir()
    (study.folder.out / "old.html").write_text("old", encoding="utf-8")
    build(study)
    assert not (study.folder.out / "returns" / "cedar").exists()
    assert not (study.folder.out / "old.html").exists()


@pytest.mark.parametrize("step", ["write_tables", "write_quality", "write_pages", "write_return"])
def test_a_build_that_fails_half_way_leaves_the_old_outputs(study, monkeypatch, step):
    def full_disk(*arguments, **options):
        raise OSError(28, "No space left on device")

    before = checksums(study.folder.out)
    study.send(W2, "alder", case("1", MLD="650"))
    study.merge()
    monkeypatch.setattr(outputs, step, full_disk)
    with pytest.raises(OSError, match="No space"):
        build(study)
    assert checksums(study.folder.out) == before
    assert not is_current(study)


def test_after_a_build_that_failed_the_next_one_is_whole(study, monkeypatch):
    before = checksums(study.folder.out)
    monkeypatch.setattr(outputs, "write_pages", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        build(study)
    monkeypatch.undo()
    build(study)
    assert checksums(study.folder.out) == before
    assert not (study.folder.root / "out.new").exists()


def test_outputs_are_whole_before_they_take_the_old_ones_place(study, monkeypatch):
    old, switched = checksums(study.folder.out), []

    def look(built, place):
        switched.append((checksums(built), checksums(place)))

    (study.folder.out / "index.html").write_text("spoilt", encoding="utf-8")
    spoilt = checksums(study.folder.out)
    monkeypatch.setattr(outputs, "switch_folder", look)
    build(study)
    assert switched == [(old, spoilt)]


# Whether there is anything to build


def test_outputs_are_current_after_a_build(built):
    assert is_current(built)


def test_outputs_are_not_current_before_the_first_build(tmp_path):
    study = make_study(tmp_path / "study")
    study.send(W1, "alder", case("1"))
    study.merge()
    assert not is_current(study)


def change_a_page(study):
    page = study.folder.out / "index.html"
    page.write_text(page.read_text(encoding="utf-8") + " ", encoding="utf-8")


def remove_a_page(study):
    (study.folder.out / "pooled.html").unlink()


def remove_all(study):
    shutil.rmtree(study.folder.out)


def add_a_file(study):
    (study.folder.out / "notes.txt").write_text("x", encoding="utf-8")


def rename_a_centre(study):
    study.change_crosswalk("birch", "Birchmoor", "Birchmere")


def merge_another_week(study):
    study.send("2026-W13", "alder", case("1"))
    study.merge()


def log_a_late_file(study):
    study.send(W1, "alder", case("5"))
    study.merge()


@pytest.mark.parametrize(
    "change", [change_a_page, remove_a_page, remove_all, add_a_file, rename_a_centre,
               merge_another_week, log_a_late_file],
)  # fmt: skip
def test_outputs_are_not_current_after(study, change):
    change(study)
    assert not is_current(study)


@pytest.mark.parametrize("text", ["", "{", "{}", "[]"])
def test_a_damaged_manifest_means_that_outputs_are_built_again(study, text):
    (study.folder.store / outputs.MANIFEST).write_text(text, encoding="utf-8")
    assert not is_current(study)


def test_a_centre_without_any_good_upload_has_outputs_too(tmp_path):
    study = make_study(tmp_path / "study")
    study.send(W1, "alder", case("1"))
    study.merge()
    build(study)
    run = json.loads((study.folder.out / "run.json").read_text(encoding="utf-8"))
    assert run["sites"]["birch"]["last_good_week"] is None


def test_a_study_in_which_all_was_set_aside_has_outputs_too(tmp_path):
    study = make_study(tmp_path / "study")
    study.send_broken(W1, "alder")
    study.merge()
    build(study)
    run = json.loads((study.folder.out / "run.json").read_text(encoding="utf-8"))
    assert (run["week"], run["operations"]) == (W1, 0)


def test_uploads_of_old_weeks_that_were_moved_away_do_not_keep_outputs_from_being_built(study):
    """A coordinator clears the disk; a centre's return then has its findings without a workbook."""
    shutil.rmtree(study.folder.uploads / W1)
    (study.folder.out / "index.html").unlink()
    build(study)
    assert (study.folder.out / "returns" / "birch" / "findings.csv").exists()
