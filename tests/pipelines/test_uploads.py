"""What centres have sent is found by week and centre."""

import hashlib

import pytest

from pipelines.errors import StudyError
from pipelines.uploads import find_uploads

SITES = ("birch", "alder")


def put(root, *names, text="a"):
    for name in names:
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text + name, encoding="ascii")


def found(root):
    return [(u.week, u.site, [file.name for file in u.files]) for u in find_uploads(root, SITES)]


def test_oldest_week_first_and_centres_in_the_studys_order(tmp_path):
    put(tmp_path, "2026-W02/alder/b.csv", "2026-W02/alder/a.csv", "2026-W02/birch/c.csv",
        "2025-W52/alder/d.csv")  # fmt: skip
    assert found(tmp_path) == [
        ("2025-W52", "alder", ["d.csv"]),
        ("2026-W02", "birch", ["c.csv"]),
        ("2026-W02", "alder", ["a.csv", "b.csv"]),
    ]


@pytest.mark.parametrize("name", ["~$series.xlsx", ".DS_Store", ".~lock.series.ods#"])
def test_lock_files_and_hidden_files_are_none(tmp_path, name):
    put(tmp_path, "2026-W02/alder/series.xlsx", f"2026-W02/alder/{name}")
    assert found(tmp_path) == [("2026-W02", "alder", ["series.xlsx"])]


def test_a_centre_with_a_lock_file_alone_sent_nothing(tmp_path):
    put(tmp_path, "2026-W02/alder/~$series.xlsx")
    assert found(tmp_path) == []


def test_hidden_folders_are_none(tmp_path):
    put(tmp_path, ".git/x", "2026-W02/.trash/a.csv", "2026-W02/alder/a.csv")
    assert found(tmp_path) == [("2026-W02", "alder", ["a.csv"])]


def test_no_folder_of_uploads_is_no_upload(tmp_path):
    assert find_uploads(tmp_path / "uploads", SITES) == []


def test_a_file_has_its_checksum_and_a_key_that_names_centre_and_week(tmp_path):
    put(tmp_path, "2026-W02/alder/a.csv")
    (sent,) = find_uploads(tmp_path, SITES)
    (file,) = sent.files
    checksum = hashlib.sha256((tmp_path / "2026-W02/alder/a.csv").read_bytes()).hexdigest()
    assert file.sha256 == checksum
    assert file.key == f"alder-2026-W02-{checksum[:8]}"
    assert sent.checksums == {checksum}


def test_a_second_copy_of_a_file_is_none(tmp_path):
    put(tmp_path, "2026-W02/alder/series.csv")
    copy = tmp_path / "2026-W02/alder/a copy of series.csv"
    copy.write_bytes((tmp_path / "2026-W02/alder/series.csv").read_bytes())
    (sent,) = find_uploads(tmp_path, SITES)
    assert len(sent.files) == 1


@pytest.mark.parametrize("week", ["2026-47", "week 47", "2026-W54", "2025-W53"])
def test_a_folder_that_is_no_week_is_refused_with_the_mend(tmp_path, week):
    put(tmp_path, f"{week}/alder/a.csv")
    with pytest.raises(StudyError) as refused:
        find_uploads(tmp_path, SITES)
    assert str(refused.value) == (f"{tmp_path / week}: no ISO week; name the folder like 2026-W47")


def test_a_folder_that_is_no_centre_is_refused_with_the_nearest_code(tmp_path):
    put(tmp_path, "2026-W02/aldr/a.csv")
    with pytest.raises(StudyError) as refused:
        find_uploads(tmp_path, SITES)
    assert str(refused.value) == (
        f"{tmp_path / '2026-W02' / 'aldr'}: no centre of study.toml has this code "
        "(did you mean 'alder'?); rename the folder or add the centre"
    )


@pytest.mark.parametrize("place", ["series.csv", "2026-W02/series.csv"])
def test_a_file_in_the_wrong_place_is_not_passed_over_in_silence(tmp_path, place):
    """Nothing is lost: a coordinator who drops a file a folder too high is told."""
    put(tmp_path, "2026-W02/birch/a.csv", place)
    with pytest.raises(StudyError):
        find_uploads(tmp_path, SITES)
