"""What a merge has to do."""

import re

import duckdb
import pytest
from small_study import W1, W2, W3, case, make_study

from pipelines.errors import StudyError
from pipelines.plan import make_plan, read_all_settings


@pytest.fixture
def study(tmp_path):
    return make_study(tmp_path / "study")


def plan(study, until=None):
    made = make_plan(study.folder, read_all_settings(study.folder), until)
    return [(s.site, s.week) for s in made.pending], [(s.site, s.week) for s in made.late]


def test_before_the_first_merge_all_is_pending_oldest_first(study):
    study.send(W2, "alder", case("1"))
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("1"))
    assert plan(study) == ([("birch", W1), ("alder", W1), ("alder", W2)], [])


def test_what_was_merged_is_not_pending(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    assert plan(study) == ([], [])


def test_what_was_set_aside_is_not_pending_again(study):
    study.send_broken(W1, "alder")
    study.send(W1, "birch", case("1"))
    study.merge()
    assert plan(study) == ([], [])


def test_a_new_week_is_pending(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W3, "alder", case("1"))
    assert plan(study) == ([("alder", W3)], [])


def test_a_centre_that_sends_later_in_the_latest_week_is_pending_alone(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W1, "birch", case("1"))
    assert plan(study) == ([("birch", W1)], [])


def test_a_second_file_of_the_latest_week_is_pending_with_the_first(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W1, "alder", case("2"), name="more.csv")
    assert plan(study) == ([("alder", W1)], [])


def test_a_replaced_file_of_the_latest_week_is_pending(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W1, "alder", case("1", MLD="650"))
    assert plan(study) == ([("alder", W1)], [])


def test_a_file_taken_out_of_the_latest_week_makes_the_rest_pending(study):
    study.send(W1, "alder", case("1"))
    more = study.send(W1, "alder", case("2"), name="more.csv")
    study.merge()
    more.unlink()
    assert plan(study) == ([("alder", W1)], [])


def test_a_file_that_is_only_named_anew_is_not_pending(study):
    path = study.send(W1, "alder", case("1"))
    study.merge()
    path.rename(path.with_name("renamed.csv"))
    assert plan(study) == ([], [])


def test_a_changed_crosswalk_makes_that_centres_latest_week_pending(study):
    for week in (W1, W2):
        study.send(week, "alder", case("1"))
        study.send(week, "birch", case("1"))
    study.merge()
    study.change_crosswalk("alder", "Aldermere", "Aldermoor")
    assert plan(study) == ([("alder", W2)], [])


def test_changed_study_settings_make_every_centres_latest_week_pending(study):
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("1"))
    study.merge()
    path = study.folder.root / "study.toml"
    path.write_text(path.read_text().replace("m1  = [14, 30, 59]", "m1  = [15, 30, 59]"))
    assert plan(study) == ([("birch", W1), ("alder", W1)], [])


def test_a_file_for_a_week_that_is_over_is_late(study):
    study.send(W2, "alder", case("1"))
    study.merge()
    study.send(W1, "birch", case("1"))
    assert plan(study) == ([], [("birch", W1)])


def test_a_file_that_replaces_one_of_a_week_that_is_over_is_late(study):
    study.send(W1, "alder", case("1"))
    study.send(W2, "alder", case("1"))
    study.merge()
    study.send(W1, "alder", case("1", MLD="650"))
    assert plan(study) == ([], [("alder", W1)])


def test_a_late_file_is_late_as_long_as_it_lies_there_and_news_once(study):
    study.send(W2, "alder", case("1"))
    study.merge()
    late = study.send(W1, "birch", case("1"))
    settings = read_all_settings(study.folder)
    assert make_plan(study.folder, settings, None).has_news
    study.merge()
    assert plan(study) == ([], [("birch", W1)])
    assert not make_plan(study.folder, settings, None).has_news
    late.unlink()
    assert plan(study) == ([], [])


def test_weeks_after_the_one_named_wait(study):
    for week in (W1, W2, W3):
        study.send(week, "alder", case("1"))
    assert plan(study, until=W2) == ([("alder", W1), ("alder", W2)], [])


def test_a_week_without_a_file_cannot_be_named(study):
    study.send(W1, "alder", case("1"))
    with pytest.raises(StudyError) as refused:
        plan(study, until=W2)
    assert str(refused.value) == (
        f"{study.folder.uploads}: nothing was sent in {W2}; there is {W1}"
    )


def test_a_study_without_uploads_is_told_where_to_put_them(study):
    with pytest.raises(StudyError) as refused:
        plan(study)
    assert str(refused.value) == (
        f"{study.folder.uploads}: no uploads; put a centre's file into uploads/2026-W47/SITE/"
    )


def test_a_plan_writes_nothing(study):
    study.send(W1, "alder", case("1"))
    plan(study)
    assert not study.folder.store.exists()


def test_a_warehouse_that_a_killed_merge_left_without_tables_counts_as_none(study):
    """Killed between making the file and making its tables, the store must be as before."""
    study.send(W1, "alder", case("1"))
    study.folder.store.mkdir()
    duckdb.connect(str(study.folder.warehouse)).close()
    assert plan(study) == ([("alder", W1)], [])


def test_the_fingerprint_of_a_crosswalk_is_in_every_upload(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    (read_with,) = study.log("uploads")["read_with"]
    assert re.fullmatch("[0-9a-f]{64}", read_with)
    assert read_with == read_all_settings(study.folder).read_with["alder"]


def test_an_upload_is_read_anew_by_a_program_that_reads_otherwise(study, monkeypatch):
    study.send(W1, "alder", case("1"))
    study.merge()
    assert plan(study) == ([], [])
    monkeypatch.setattr("pipelines.plan.source_digest", lambda *packages: "another program")
    assert plan(study) == ([("alder", W1)], [])
