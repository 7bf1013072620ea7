"""Files and folders are there whole or not at all."""

import stat

import pytest

from pipelines.atomic import switch_folder, write_whole


def listing(folder):
    return {
        str(path.relative_to(folder)): path.read_text(encoding="ascii")
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_file_is_written_and_nothing_is_left_beside_it(tmp_path):
    write_whole(tmp_path / "ledger.json", b"new")
    assert listing(tmp_path) == {"ledger.json": "new"}


def test_a_file_is_replaced(tmp_path):
    (tmp_path / "ledger.json").write_text("old and longer", encoding="ascii")
    write_whole(tmp_path / "ledger.json", b"new")
    assert listing(tmp_path) == {"ledger.json": "new"}


@pytest.mark.parametrize("mode", [0o600, 0o644])
def test_the_mode_is_what_was_asked_whatever_the_old_file_had(tmp_path, mode):
    for name in ("key", "key.new"):
        (tmp_path / name).write_text("old", encoding="ascii")
        (tmp_path / name).chmod(0o666)
    write_whole(tmp_path / "key", b"new", mode)
    assert stat.S_IMODE((tmp_path / "key").stat().st_mode) == mode


def test_the_old_file_stays_where_the_new_one_is_not_flushed(tmp_path, monkeypatch):
    def disk_full(descriptor):
        raise OSError(28, "No space left on device")

    (tmp_path / "ledger.json").write_text("old", encoding="ascii")
    monkeypatch.setattr("pipelines.atomic.os.fsync", disk_full)
    with pytest.raises(OSError, match="No space"):
        write_whole(tmp_path / "ledger.json", b"new")
    assert (tmp_path / "ledger.json").read_text(encoding="ascii") == "old"


def folder_with(path, **files):
    path.mkdir()
    for name, text in files.items():
        (path / name).write_text(text, encoding="ascii")
    return path


def test_a_folder_takes_the_place_of_the_old_one(tmp_path):
    folder_with(tmp_path / "out", page="old", gone="old")
    switch_folder(folder_with(tmp_path / "out.new", page="new"), tmp_path / "out")
    assert listing(tmp_path) == {"out/page": "new"}


def test_a_folder_takes_a_place_that_is_free(tmp_path):
    switch_folder(folder_with(tmp_path / "out.new", page="new"), tmp_path / "out")
    assert listing(tmp_path) == {"out/page": "new"}


def test_what_a_killed_switch_left_is_cleared(tmp_path):
    folder_with(tmp_path / "out", page="old")
    folder_with(tmp_path / "out.old", page="older")
    switch_folder(folder_with(tmp_path / "out.new", page="new"), tmp_path / "out")
    assert listing(tmp_path) == {"out/page": "new"}
