"""The process that reads uploads: bounds, deaths, and a new one for the next file."""

import errno
import hashlib
import os
import pickle
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from hostile_files import workbook

from pipelines import reading_child
from pipelines.errors import ProgramFault
from pipelines.file_opening import CHANGED
from pipelines.reading_process import (
    ENDS_THE_READER,
    NEEDS_MEMORY,
    NEEDS_TIME,
    ReadingProcess,
    Request,
)
from transforms.reading import UnreadableUpload, read_workbook

REPOSITORY = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def reader():
    """A reading process of these tests' own: it takes a second to start."""
    reader = ReadingProcess()
    yield reader
    reader.end()


@pytest.fixture
def good(tmp_path):
    path = tmp_path / "series.xlsx"
    path.write_bytes(workbook())
    return path


def child_of(reader):
    return reader._child.process


def reason(reader, path, sha256=None):
    with pytest.raises(UnreadableUpload) as refused:
        reader.read(path, sha256)
    return refused.value.reason


def test_it_reads_what_the_reading_itself_reads(reader, good):
    there, here = reader.read(good), read_workbook(good.name, good.read_bytes())
    assert [sheet.name for sheet in there.sheets] == ["Log"]
    assert there.sheets[0].values.equals(here.sheets[0].values)


def test_one_process_reads_many_files(reader, good):
    reader.read(good)
    process = child_of(reader)
    reader.read(good)
    assert child_of(reader) is process


def test_a_file_with_another_checksum_has_changed(reader, good):
    checksum = hashlib.sha256(good.read_bytes()).hexdigest()
    assert reader.read(good, checksum).kind == "xlsx"
    assert reason(reader, good, checksum[::-1]) == CHANGED


def test_a_file_that_takes_too_long_is_given_up_and_the_next_is_read(reader, good):
    reader.read(good)
    os.kill(child_of(reader).pid, signal.SIGSTOP)
    reader.seconds = 0.2
    assert reason(reader, good) == NEEDS_TIME
    reader.seconds = 60
    assert reader.read(good).kind == "xlsx"


def test_a_file_that_takes_too_much_memory_is_given_up_and_the_next_is_read(good, tmp_path):
    large = tmp_path / "large.csv"
    large.write_text("\n".join(["some text,more text"] * 900_000), encoding="ascii")
    reader = ReadingProcess(memory_bytes=200_000_000)
    try:
        assert reason(reader, large) == NEEDS_MEMORY
        assert reader.read(good).kind == "xlsx"
    finally:
        reader.end()


@pytest.mark.parametrize(
    ("death", "told"),
    [
        (signal.SIGABRT, NEEDS_MEMORY),  # as calamine does where memory is refused
        (signal.SIGKILL, NEEDS_MEMORY),  # as the system does where there is none
        (signal.SIGSEGV, ENDS_THE_READER),
        (signal.SIGXCPU, NEEDS_TIME),
    ],
)
def test_a_file_on_which_the_process_dies_is_given_up_and_the_next_is_read(
    reader, good, death, told
):
    reader.read(good)
    process = child_of(reader)
    process.send_signal(signal.SIGSTOP)  # so that it dies with the file in hand
    dies = threading.Timer(0.3, process.send_signal, [death])
    wakes = threading.Timer(0.4, process.send_signal, [signal.SIGCONT])
    dies.start()
    wakes.start()
    assert reason(reader, good) == told
    dies.join()
    wakes.join()
    assert reader.read(good).kind == "xlsx"


def test_no_file_is_blamed_for_a_process_that_died_before(reader, good):
    reader.read(good)
    child_of(reader).kill()
    child_of(reader).wait()
    assert reader.read(good).kind == "xlsx"


def test_threads_read_in_turn(reader, good, tmp_path):
    text = tmp_path / "series.csv"
    text.write_text("a,b\n1,2\n", encoding="ascii")
    found = []

    def read(path, kind):
        found.extend(reader.read(path).kind == kind for _ in range(20))

    threads = [threading.Thread(target=read, args=each)
               for each in ((good, "xlsx"), (text, "csv"))]  # fmt: skip
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [True] * 40


def test_the_process_ends_with_the_command(good):
    """Also where the command is killed, and cannot end it."""
    program = (
        "import os, sys; from pathlib import Path;"
        "from pipelines.reading_process import ReadingProcess;"
        "reader = ReadingProcess(); reader.read(Path(sys.argv[1]));"
        "print(reader._child.process.pid, flush=True); os.kill(os.getpid(), 9)"
    )
    done = subprocess.run([sys.executable, "-c", program, str(good)], capture_output=True,
                          text=True, check=False, cwd=REPOSITORY)  # fmt: skip
    assert done.returncode == -signal.SIGKILL
    assert ends_soon(int(done.stdout))


def ends_soon(pid):
    for _ in range(200):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        if "\nState:\tZ" in Path(f"/proc/{pid}/status").read_text(encoding="ascii"):
            return True
        threading.Event().wait(0.05)
    return False


def test_what_is_wrong_with_the_disk_or_the_program_is_told_without_a_value(good, monkeypatch):
    def fails(error):
        def read_workbook(name, content):
            raise error

        monkeypatch.setattr(reading_child, "read_workbook", read_workbook)
        return pickle.loads(pickle.dumps(reading_child._answer(Request(good, None, 60))))

    told = fails(OSError(errno.EIO, os.strerror(errno.EIO), "Vellumcrest.xlsx"))
    assert isinstance(told, OSError)
    assert str(told) == "[Errno 5] Input/output error"
    told = fails(KeyError("Vellumcrest"))
    assert isinstance(told, ProgramFault)
    assert str(told).startswith("reading an upload: KeyError in test_reading_process.py, line ")


def test_a_module_where_the_user_stands_is_not_run(good, tmp_path, monkeypatch, reader):
    (tmp_path / "csv.py").write_text("raise SystemExit", encoding="ascii")
    monkeypatch.chdir(tmp_path)
    assert reader.read(Path("series.xlsx")).kind == "xlsx"
