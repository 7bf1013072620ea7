"""One merge of a study at a time."""

import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

from pipelines.errors import StudyError
from pipelines.store_lock import locked

HOLDER = """
import sys
from pathlib import Path
from pipelines.store_lock import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@contextmanager
def held_elsewhere(lock):
    """Another process that holds the lock; it ends when its standard input does."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(lock)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    with process:
        assert process.stdout.readline() == b"held\n"
        yield process
        process.stdin.close()


@pytest.fixture
def lock(tmp_path):
    return tmp_path / "store" / "merge.lock"


def test_a_second_process_is_told_which_one_runs(lock):
    with held_elsewhere(lock) as other:
        with pytest.raises(StudyError) as refused, locked(lock):
            pass
        assert str(refused.value) == (
            f"{lock.parent}: another merge is running (process {other.pid}); wait until it is done"
        )


def test_the_lock_is_free_when_the_other_process_is_done(lock):
    with held_elsewhere(lock):
        pass
    with locked(lock):
        assert lock.read_text(encoding="ascii") == str(os.getpid())


def test_the_lock_is_free_after_the_other_process_was_killed(lock):
    with held_elsewhere(lock) as other:
        other.send_signal(signal.SIGKILL)
        other.wait(10)
        with locked(lock):
            assert lock.read_text(encoding="ascii") == str(os.getpid())


def test_the_lock_is_free_after_an_exception(lock):
    with pytest.raises(RuntimeError), locked(lock):
        raise RuntimeError
    with locked(lock):
        assert lock.exists()


def test_a_store_made_for_the_lock_is_for_the_owner_alone(lock):
    with locked(lock):
        assert lock.parent.stat().st_mode & 0o777 == 0o700
