"""Three weeks of a small study, merged step by step: plan, ingest, commit, without Prefect."""

import shutil

import pandas as pd
import pytest
from small_study import W1, W2, W3, case, make_study

from pipelines.check import check
from pipelines.commit import TOO_LATE, commit_weeks
from pipelines.ingest import SENT_TOGETHER, RowsUnaccounted, ingest
from pipelines.linkage import Linkage, pseudonym_key
from pipelines.merge import merge
from pipelines.plan import make_plan, read_all_settings
from pipelines.warehouse import HISTORY, Warehouse
from schemas.codebook import TABLES


@pytest.fixture
def study(tmp_path):
    return make_study(tmp_path / "study")


def weeks_of(study, *weeks):
    """Sends alder's rows of each week, and merges after each."""
    for week, rows in zip((W1, W2, W3), weeks, strict=False):
        study.send(week, "alder", *rows)
        study.merge()


def findings(study, week, rule=None):
    """(rule, cell, state, first week, last week) of alder's findings as of a week."""
    rows = study.as_of("findings", week, "alder")
    rows = rows if rule is None else rows[rows["rule"] == rule]
    columns = ["rule", "cell", "state", "first_week", "last_week"]
    return sorted(tuple(row) for row in rows[columns].fillna("").itertuples(index=False))


def diameters(study, week, site="alder"):
    return sorted(study.as_of("operations", week, site)["hole_min_diameter_um"].fillna(-1))


# A value


def test_a_mended_value_is_fixed_and_the_week_before_stays_as_it_was(study):
    weeks_of(study, [case("1", MLD="wide")], [case("1", MLD="700")])
    assert findings(study, W1) == [("number_unreadable", "F2", "open", W1, W1)]
    assert findings(study, W2) == [("number_unreadable", "F2", "fixed", W1, W1)]
    assert diameters(study, W1) == [-1]
    assert diameters(study, W2) == [700]


def test_a_value_that_stays_wrong_is_the_same_matter_each_week(study):
    weeks_of(study, *[[case("1", MLD="wide")]] * 3)
    assert findings(study, W3) == [("number_unreadable", "F2", "open", W1, W3)]
    keys = {study.as_of("findings", week)["finding_key"].item() for week in (W1, W2, W3)}
    assert len(keys) == 1


def test_a_value_broken_again_is_the_old_matter_opened_again(study):
    weeks_of(study, [case("1", MLD="wide")], [case("1")], [case("1", MLD="wider")])
    assert findings(study, W2) == [("number_unreadable", "F2", "fixed", W1, W1)]
    assert findings(study, W3) == [("number_unreadable", "F2", "open", W1, W3)]


def test_a_matter_is_the_same_after_the_row_has_moved(study):
    weeks_of(study, [case("1", MLD="wide")], [case("0"), case("1", MLD="wide")])
    assert findings(study, W2) == [("number_unreadable", "F3", "open", W1, W2)]


# A case


def test_a_held_row_comes_in_once_it_is_mended(study):
    weeks_of(study, [case("1"), case("2", Date="soon")], [case("1"), case("2")])
    assert findings(study, W1) == [("operation_date_unreadable", "C3", "open", W1, W1)]
    assert findings(study, W2) == [("operation_date_unreadable", "C3", "fixed", W1, W1)]
    assert [len(study.as_of("operations", week)) for week in (W1, W2)] == [1, 2]


def test_a_case_that_breaks_leaves_the_pool_and_is_not_called_gone(study):
    weeks_of(study, [case("1"), case("2")], [case("1"), case("2", Date="soon")])
    assert findings(study, W2) == [("operation_date_unreadable", "C3", "open", W2, W2)]
    assert [len(study.as_of("operations", week)) for week in (W1, W2)] == [2, 1]


def test_a_case_whose_eye_breaks_is_not_called_gone_for_it_may_be_that_row(study):
    weeks_of(study, [case("1"), case("2")], [case("1"), case("2", Eye="both")])
    assert findings(study, W2) == [("eye_unreadable", "B3", "open", W2, W2)]


def test_a_dropped_case_is_flagged_and_leaves_every_table(study):
    weeks_of(study, [case("1"), case("2")], [case("1")])
    assert findings(study, W2) == [("case_gone", "", "open", W2, W2)]
    for table in ("operations", "visits"):
        assert [len(study.as_of(table, week)) for week in (W1, W2)] == [2, 1], table
    gone = set(study.as_of("operations", W1)["operation_key"]) - set(
        study.as_of("operations", W2)["operation_key"]
    )
    assert set(study.as_of("findings", W2)["case_label"]) == gone
    assert gone.isdisjoint(study.as_of("cells", W2)["key"].str[:10])


def test_a_case_that_stays_away_is_asked_for_every_week(study):
    weeks_of(study, [case("1"), case("2")], [case("1")], [case("1")])
    assert findings(study, W3) == [("case_gone", "", "open", W2, W3)]


def test_a_returned_case_has_its_old_code_and_its_finding_is_fixed(study):
    weeks_of(study, [case("1"), case("2")], [case("1")], [case("1"), case("2")])
    assert findings(study, W3) == [("case_gone", "", "fixed", W2, W2)]
    pd.testing.assert_frame_equal(study.as_of("operations", W3), study.as_of("operations", W1))


def test_findings_of_a_dropped_case_are_withdrawn(study):
    weeks_of(study, [case("1"), case("2", MLD="wide")], [case("1")])
    assert findings(study, W2, "number_unreadable") == [
        ("number_unreadable", "F3", "withdrawn", W1, W1)
    ]


def test_a_mended_date_of_operation_changes_no_code(study):
    weeks_of(study, [case("1", Date="2025-03-04")], [case("1", Date="2025-03-05")])
    one, two = (study.as_of("operations", week)["operation_key"].item() for week in (W1, W2))
    assert one == two
    assert findings(study, W2) == []


# A centre


def test_a_centre_that_sends_nothing_keeps_its_last_good_upload(study):
    study.send(W1, "birch", case("1", MLD="650"))
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W2, "alder", case("1"))
    study.merge()
    assert diameters(study, W2, "birch") == [650]
    assert list(study.log("uploads").query("site == 'birch'")["week"]) == [W1]


def test_an_upload_that_cannot_be_read_is_set_aside_and_the_last_good_one_stays(study):
    study.send(W1, "alder", case("1", MLD="wide"))
    study.merge()
    study.send_broken(W2, "alder")
    study.merge()
    aside = study.log("uploads").query("week == @W2").iloc[0]
    assert (aside["status"], aside["rows_read"]) == ("set_aside", 0)
    assert aside["reason"]
    for table in HISTORY:
        pd.testing.assert_frame_equal(study.as_of(table, W2), study.as_of(table, W1))


def test_a_good_file_sent_with_a_broken_one_is_set_aside_with_it(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    study.send(W2, "alder", case("1", MLD="650"))
    study.send_broken(W2, "alder")
    study.merge()
    uploads = study.log("uploads").query("week == @W2").set_index("file_name")
    assert list(uploads["status"]) == ["set_aside"] * 2
    assert uploads.loc["series.csv", "reason"] == SENT_TOGETHER
    assert diameters(study, W2) == [700]


def test_the_week_after_one_set_aside_is_held_against_the_last_good_one(study):
    study.send(W1, "alder", case("1"), case("2", MLD="wide"))
    study.send_broken(W2, "alder")
    study.send(W3, "alder", case("2"))
    study.merge()
    assert findings(study, W3) == [
        ("case_gone", "", "open", W3, W3), ("number_unreadable", "F3", "fixed", W1, W1),
    ]  # fmt: skip


def test_an_upload_without_the_crosswalks_headings_is_set_aside(study):
    path = study.folder.uploads / W1 / "alder" / "series.csv"
    path.parent.mkdir(parents=True)
    path.write_text("nothing,known\n1,2\n", encoding="utf-8")
    study.merge()
    assert list(study.log("uploads")["status"]) == ["set_aside"]


# The latest week again


def test_a_replaced_file_of_the_latest_week_takes_the_first_ones_place(study):
    study.send(W1, "alder", case("1"), case("2"))
    study.merge()
    study.send(W2, "alder", case("1", MLD="wide"))
    study.merge()
    study.send(W2, "alder", case("1", MLD="650"), case("2"))
    assert study.merge() == [("alder", W2)]
    assert diameters(study, W1) == [700, 700]
    assert diameters(study, W2) == [650, 700]
    assert findings(study, W2) == []
    assert len(study.log("uploads").query("week == @W2")) == 1
    assert list(study.log("weeks")["week"]) == [W1, W2]


def test_a_file_replaced_by_a_broken_one_gives_way_to_the_week_before(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    path = study.send(W2, "alder", case("1", MLD="650"))
    study.merge()
    path.unlink()
    study.send_broken(W2, "alder")
    study.merge()
    assert diameters(study, W2) == [700]
    assert list(study.log("uploads").query("week == @W2")["status"]) == ["set_aside"]


def test_a_mended_crosswalk_reads_the_latest_week_anew(study):
    weeks_of(study, [case("1")], [case("1")])
    study.change_crosswalk("alder", 'heading = "MLD", unit = "um"', 'heading = "MLD", unit = "mm"')
    study.merge()
    assert diameters(study, W1) == [700]
    assert diameters(study, W2) == [-1]
    assert findings(study, W2)[0][0] == "outside_possible"


def test_another_centres_new_file_leaves_the_others_rows_alone(study):
    study.send(W1, "alder", case("1"))
    study.merge()
    before = study.as_of("operations", W1, "alder")
    study.send(W1, "birch", case("1"))
    assert study.merge() == [("birch", W1)]
    pd.testing.assert_frame_equal(study.as_of("operations", W1, "alder"), before)


# Late files


def test_a_late_file_is_set_aside_once_and_changes_nothing(study):
    study.send(W1, "alder", case("1"))
    study.send(W2, "alder", case("1"))
    study.merge()
    before = {table: study.as_of(table, W1) for table in HISTORY}
    study.send(W1, "alder", case("1", MLD="650"), name="new.csv")
    study.merge()
    study.merge()
    late = study.log("uploads").query("status == 'set_aside'")
    assert list(late["week"]) == [W1]
    assert list(late["reason"]) == [TOO_LATE]
    for table, rows in before.items():
        pd.testing.assert_frame_equal(study.as_of(table, W1), rows)


def test_a_late_file_is_told_by_that_merge_as_set_aside(study, monkeypatch):
    """`merge` itself, with the flow left out: what was set aside decides its exit status."""
    monkeypatch.setattr("pipelines.merge._run_flow", lambda *_: study.merge())
    study.send(W2, "alder", case("1"))
    assert merge(study.folder, None).set_aside == ()
    study.send(W1, "birch", case("1"))
    told = merge(study.folder, None).set_aside
    assert [(entry["site"], entry["week"], entry["reason"]) for entry in told] == [
        ("birch", W1, TOO_LATE)
    ]


# Counts


def test_rows_in_are_rows_merged_and_rows_held(study):
    study.send(W1, "alder", case("1"), case("2", Date="soon"), case("2", Eye=""), case("4"))
    study.merge()
    counts = study.log("uploads")[["rows_read", "rows_merged", "rows_held"]].iloc[0]
    assert list(counts) == [8, 4, 4]  # an operation and a visit each


def test_a_merge_that_loses_a_row_fails(study, monkeypatch):
    import pipelines.ingest as module

    take_in = module.take_in

    def forgetful(*arguments):
        taken = take_in(*arguments)
        taken.counts["rows_merged"] -= 1
        return taken

    monkeypatch.setattr(module, "take_in", forgetful)
    study.send(W1, "alder", case("1"))
    with pytest.raises(RowsUnaccounted):
        study.merge()
    assert not study.folder.warehouse.exists()


def test_a_week_is_logged_with_its_counts(study):
    study.send(W1, "alder", case("1", MLD="wide"))
    study.send_broken(W1, "birch")
    study.merge()
    week = study.log("weeks").iloc[0]
    assert week["counts"] == (
        '{"rows_read": 2, "rows_merged": 2, "rows_held": 0, "uploads_set_aside": 1, '
        '"findings_open": 1}'
    )


# All or nothing


def test_a_commit_that_fails_at_the_last_centre_changes_nothing(study, monkeypatch):
    study.send(W1, "alder", case("1"))
    study.merge()
    before = contents(study)
    study.send(W2, "birch", case("1"))
    study.send(W2, "alder", case("1", MLD="650"))
    append = Warehouse.append

    def full_disk(warehouse, table, rows):
        if table == "weeks":
            raise OSError(28, "No space left on device")
        append(warehouse, table, rows)

    monkeypatch.setattr(Warehouse, "append", full_disk)
    with pytest.raises(OSError, match="No space"):
        study.merge()
    monkeypatch.undo()
    assert contents(study) == before
    assert study.merge() == [("birch", W2), ("alder", W2)]


# Weeks one by one or all at once


def contents(study):
    """Every table as of every week, as text."""
    weeks = list(study.log("weeks")["week"])
    history = {(t, w): study.as_of(t, w).to_csv() for t in HISTORY for w in weeks}
    logs = {t: study.log(t).to_csv() for t in TABLES if t not in HISTORY}
    return {**history, **logs}


def send_all(study):
    """Three weeks in which cases are mended, broken, dropped and brought back."""
    study.send(W1, "birch", case("1"), case("2", OCT_3m="flat open"), case("3", VA_3m="CF"))
    study.send(W1, "alder", case("1"), case("2", MLD="wide"), case("3", Date="soon"))
    yield W1
    study.send(W2, "alder", case("1"), case("2"), case("4", Eye="left"), case("4"))
    study.send_broken(W2, "birch")
    yield W2
    study.send(W3, "birch", case("2"), case("3", VA_3m="0.4"), case("9"))
    study.send(W3, "alder", case("3"), case("2", MLD="wide"), case("1", Date="2025-04-04"))
    yield W3


def test_weeks_merged_one_by_one_or_all_at_once_give_the_same(tmp_path):
    """The codes are random: the second study is given the linkage of the first."""
    one_by_one, at_once = make_study(tmp_path / "one"), make_study(tmp_path / "two")
    for _ in send_all(one_by_one):
        one_by_one.merge()
    assert list(send_all(at_once)) == [W1, W2, W3]
    shutil.copytree(one_by_one.folder.store, at_once.folder.store,
                    ignore=shutil.ignore_patterns("warehouse*"))  # fmt: skip
    assert len(at_once.merge()) == 6
    assert contents(at_once) == contents(one_by_one)


def test_two_stores_of_the_same_uploads_differ_in_nothing_but_codes(tmp_path):
    one, two = make_study(tmp_path / "one"), make_study(tmp_path / "two")
    for study in (one, two):
        list(send_all(study))
        study.merge()
    for table, week in ((t, w) for t in HISTORY for w in (W1, W2, W3)):
        a, b = (s.as_of(table, week) for s in (one, two))
        plain = [c for c in a if not c.endswith("key") and c != "case_label"]
        a, b = (frame[plain].sort_values(plain, ignore_index=True) for frame in (a, b))
        pd.testing.assert_frame_equal(a, b)
    keys = [set(s.as_of("operations", W3)["operation_key"]) for s in (one, two)]
    assert not keys[0] & keys[1]


def test_centres_may_be_ingested_in_any_order(tmp_path):
    forwards, backwards = make_study(tmp_path / "one"), make_study(tmp_path / "two")
    for study in (forwards, backwards):
        list(send_all(study))
    forwards.merge()
    shutil.copytree(forwards.folder.store, backwards.folder.store,
                    ignore=shutil.ignore_patterns("warehouse*"))  # fmt: skip
    settings, folder = read_all_settings(backwards.folder), backwards.folder
    key = pseudonym_key(folder.key)
    pending = reversed(make_plan(folder, settings, None).pending)
    ingested = [
        ingest(sent, settings.crosswalks[sent.site], settings.study, key,
               settings.read_with[sent.site])
        for sent in pending
    ]  # fmt: skip
    with Warehouse(folder.warehouse) as warehouse:
        times = ("2026-03-02T06:00:00+00:00", "2026-03-02T06:01:00+00:00")
        commit_weeks(warehouse, Linkage(folder.linkage, key), ingested, *times)
    assert contents(backwards) == contents(forwards)


# Held against the week before


def sized(factor, count=6):
    return [case(str(n), MLD=f"{(500 + 40 * n) * factor:g}") for n in range(count)]


def changed_units(study, week):
    findings = study.as_of("findings", week, "alder")
    return findings.loc[findings["rule"] == "unit_changed", ["cell", "state"]].values.tolist()


@pytest.mark.parametrize("in_one_merge", [True, False])
def test_a_unit_that_changes_from_one_week_to_the_next_is_told_and_held(study, in_one_merge):
    study.send(W1, "alder", *sized(1))
    if not in_one_merge:
        study.merge()
    study.send(W2, "alder", *sized(0.001))
    study.merge()
    assert changed_units(study, W2) == [["F1", "open"]]
    operations = study.as_of("operations", W2, "alder")
    assert len(operations) == 6
    assert operations["hole_min_diameter_um"].isna().all()
    study.send(W3, "alder", *sized(1))
    study.merge()
    assert changed_units(study, W3) == [["F1", "fixed"]]
    assert study.as_of("operations", W3, "alder")["hole_min_diameter_um"].notna().all()


def test_a_week_that_is_merged_again_is_held_against_the_one_before_it(study):
    study.send(W1, "alder", *sized(1))
    study.send(W2, "alder", *sized(0.001))
    study.merge()
    study.send(W2, "alder", *sized(0.001, count=7))
    study.merge()
    assert changed_units(study, W2) == [["F1", "open"]]


def test_the_week_after_one_set_aside_is_held_against_the_last_good_headings(study):
    study.send(W1, "alder", *sized(1))
    study.send_broken(W2, "alder")
    study.send(W3, "alder", *sized(0.001))
    study.merge()
    assert changed_units(study, W3) == [["F1", "open"]]


def test_check_holds_a_file_against_the_last_upload_too(study):
    study.send(W1, "alder", *sized(1))
    study.merge()
    checked = check(study.send(W2, "alder", *sized(0.001)), "alder", None)
    assert checked.findings["rule"].to_list() == ["unit_changed"]
