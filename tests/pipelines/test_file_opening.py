"""What lies in a folder of uploads is opened only where it is a plain file."""

import os
import signal
from pathlib import Path

import pytest

from pipelines.file_opening import (
    GONE,
    IS_FOLDER,
    IS_FORBIDDEN,
    IS_LINK,
    IS_NO_FILE,
    NotOpened,
    opened,
    printable,
)


def refusal(path):
    with pytest.raises(NotOpened) as refused, opened(path):
        pass
    return refused.value.reason


def make_link(place):
    (place.parent / "file").write_bytes(b"a,b")
    place.symlink_to("file")


# What is made, and why it is not opened.
KINDS = [(make_link, IS_LINK), (os.mkfifo, IS_NO_FILE), (Path.mkdir, IS_FOLDER)]


@pytest.fixture
def place(tmp_path):
    return tmp_path / "series.csv"


@pytest.fixture(autouse=True)
def _no_waiting():
    """A pipe that is opened for reading waits for a writer, without end."""

    def gives_up(*_):
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, gives_up)
    signal.alarm(30)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def test_a_file_is_opened(place):
    place.write_bytes(b"a,b")
    with opened(place) as file:
        assert file.read() == b"a,b"


@pytest.mark.parametrize(("make", "reason"), KINDS)
def test_what_is_no_file_is_not_opened(place, monkeypatch, make, reason):
    make(place)
    monkeypatch.setattr(os, "open", lambda *_: pytest.fail("it was opened"))
    assert refusal(place) == reason


@pytest.mark.parametrize(("make", "reason"), KINDS)
def test_what_takes_a_files_place_after_the_look_at_it_is_not_read(
    place, tmp_path, monkeypatch, make, reason
):
    make(place)
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    found = plain.lstat()
    monkeypatch.setattr(Path, "lstat", lambda _: found)
    assert refusal(place) == reason


def test_a_file_that_is_not_there_has_gone(place):
    assert refusal(place) == GONE


def test_a_file_without_leave_to_read_it_is_told_as_such(place, monkeypatch):
    """As root may read everything, the system's answer is made up."""
    place.write_bytes(b"a,b")

    def refuses(*_):
        raise PermissionError

    monkeypatch.setattr(os, "open", refuses)
    assert refusal(place) == IS_FORBIDDEN


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Operações 2026\u00a0(neu).xlsx", "Operações 2026\u00a0(neu).xlsx"),
        ("a\nb\tc\x1b[1m.csv", "a\ufffdb\ufffdc\ufffd[1m.csv"),
        ("s\udce9rie.csv", "s\ufffdrie.csv"),
        ("a\u2028b\u2029.csv", "a\ufffdb\ufffd.csv"),
        ("\u202excod.csv", "\ufffdxcod.csv"),
    ],
)
def test_a_name_is_one_line_of_text_that_can_be_written(name, shown):
    assert printable(name) == shown
