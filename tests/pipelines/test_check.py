"""What a merge would find in one workbook, without a store."""

import shutil

import pytest
from merged_sample import SAMPLE, checksums
from small_study import W1, case, make_study

from pipelines.check import check, study_of
from pipelines.errors import StudyError


@pytest.fixture
def study(tmp_path):
    return make_study(tmp_path / "study")


def found(checked):
    return [tuple(row) for row in checked.findings[["cell", "rule"]].itertuples(index=False)]


def test_a_clean_workbook_has_no_findings(study):
    checked = check(study.send(W1, "alder", case("1"), case("2")), "alder", None)
    assert (checked.rows_read, checked.rows_held) == (4, 0)  # an operation and a visit each
    assert found(checked) == []


def test_findings_stand_in_the_order_of_the_sheet(study):
    rows = [case(str(n)) for n in range(2, 12)]
    path = study.send(W1, "alder", case("1", MLD="wide"), *rows, case("0", Date="soon", Graft="?"))
    checked = check(path, "alder", None)
    assert found(checked) == [
        ("F2", "number_unreadable"), ("C13", "operation_date_unreadable"),
        ("G13", "number_unreadable"),
    ]  # fmt: skip
    assert (checked.rows_read, checked.rows_held) == (24, 2)


def test_a_merge_finds_the_same(study):
    rows = [case("1", MLD="wide"), case("2", Date="soon"), case("3", OCT_3m="maybe"), case("3")]
    path = study.send(W1, "alder", *rows)
    checked = check(path, "alder", None)
    study.merge()
    columns = ["sheet", "cell", "field", "rule", "action", "message", "mend"]
    merged = study.as_of("findings", W1)[columns].sort_values(columns, ignore_index=True)
    told = checked.findings[columns].sort_values(columns, ignore_index=True)
    assert len(told) == 4
    assert told.astype(object).equals(merged.astype(object))


def test_columns_that_no_crosswalk_names_are_listed_by_heading(study):
    path = study.send(W1, "alder", case("1"))
    text = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(f"{line},{'Remarks' if not n else 'x'}"
                              for n, line in enumerate(text)), encoding="utf-8")  # fmt: skip
    checked = check(path, "alder", None)
    assert list(checked.unread["heading"]) == ["Remarks"]


def test_nothing_is_written(study):
    path = study.send(W1, "alder", case("1"))
    before = checksums(study.folder.root)
    check(path, "alder", None)
    assert checksums(study.folder.root) == before


def test_no_record_number_is_told(study):
    path = study.send(W1, "alder", case("QX-77120-Z", MLD="wide", Surgeon="Dr. Vellumcrest"))
    text = check(path, "alder", None).findings.to_csv().casefold()
    assert "77120" not in text
    assert "vellumcrest" not in text


def test_the_study_is_the_nearest_one_above_the_file(study):
    assert study_of(study.folder.uploads / W1 / "alder" / "x.csv") == study.folder.root


def test_a_file_far_from_any_study_is_checked_with_one_that_is_named(study, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = study.send(W1, "alder", case("1")).rename(tmp_path / "series.csv")
    assert found(check(path, "alder", study.folder.root)) == []
    with pytest.raises(StudyError) as refused:
        check(path, "alder", None)
    assert str(refused.value) == (
        f"{path}: no study.toml in the folders above it; name one with --study"
    )


def test_an_unknown_centre_is_refused_with_the_nearest_code(study):
    path = study.send(W1, "alder", case("1"))
    with pytest.raises(StudyError) as refused:
        check(path, "aldr", None)
    assert str(refused.value) == (
        f"'aldr' is no centre of {study.folder.root / 'study.toml'} (did you mean 'alder'?)"
    )


def test_a_file_that_is_not_there(study):
    with pytest.raises(StudyError, match="there is no such file"):
        check(study.folder.root / "none.csv", "alder", None)


def test_a_file_that_cannot_be_read(study):
    path = study.send_broken(W1, "alder")
    with pytest.raises(StudyError) as refused:
        check(path, "alder", None)
    assert str(refused.value).startswith(f"{path}: ")


def test_a_table_of_headings_alone_would_be_set_aside(study):
    with pytest.raises(StudyError, match="no row is an operation"):
        check(study.send(W1, "alder"), "alder", None)


def test_a_follow_up_file_of_headings_alone_has_no_rows_beside_the_operations(tmp_path):
    sent = SAMPLE / "uploads" / "2026-W47" / "tern"
    shutil.copy(sent / "operacoes.csv", tmp_path)
    follow_up = tmp_path / "seguimento.csv"
    follow_up.write_bytes((sent / "seguimento.csv").read_bytes().splitlines(keepends=True)[0])
    checked = check(follow_up, "tern", SAMPLE)
    assert (checked.rows_read, checked.rows_held, found(checked)) == (0, 0, [])
