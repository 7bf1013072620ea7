"""A short run of the fuzz runner; the long one is `python tests/fuzz_workbooks.py --files 2000`."""

import fuzz_seeds
import fuzz_workbooks
import pytest
from fuzz_workbooks import run, spoilt_file

FILES, SEED = 110, 20


@pytest.mark.filterwarnings("ignore:Duplicate name")  # of a part: written so on purpose
def test_spoilt_workbooks_are_read_or_set_aside_with_a_reason(tmp_path):
    outcomes = run(range(FILES), SEED, tmp_path)
    assert outcomes.failures == []
    assert outcomes.files == FILES
    # Both ways are gone, or nothing was tried.
    assert outcomes.read >= FILES // 5
    assert len(outcomes.set_aside) >= 5


@pytest.mark.parametrize(
    "fault", [KeyError("a cell"), MemoryError(), RecursionError(), AssertionError()]
)
def test_a_fault_of_the_program_fails_the_run_and_tells_the_file(tmp_path, monkeypatch, fault):
    def ingest(*_):
        raise fault

    monkeypatch.setattr(fuzz_workbooks, "ingest", ingest)
    (failure,) = run(range(7, 8), SEED, tmp_path / "run", keep=tmp_path / "kept").failures
    name, way, content = spoilt_file(SEED, 7)
    assert failure.startswith(f"7 {name} {way}: spoilt: {type(fault).__name__} in test_fuzz.py")
    assert (tmp_path / "kept" / f"7-{name}").read_bytes() == content


def test_a_file_that_takes_too_long_fails_the_run(tmp_path, monkeypatch):
    monkeypatch.setattr(fuzz_workbooks, "MOST_SECONDS", 0.0)
    assert len(run(range(3), SEED, tmp_path).failures) == 3


def test_too_much_memory_fails_the_run(tmp_path, monkeypatch):
    monkeypatch.setattr(fuzz_workbooks, "MOST_MEGABYTES", 1)
    assert len(run(range(3), SEED, tmp_path).failures) == 3


def test_the_same_seed_spoils_the_same_files():
    assert fuzz_seeds.seeds.__wrapped__() == fuzz_seeds.seeds()
    assert [spoilt_file(1, n) for n in range(30)] == [spoilt_file(1, n) for n in range(30)]
    assert spoilt_file(1, 3) != spoilt_file(2, 3)


def test_every_format_is_spoilt():
    assert {spoilt_file(SEED, n)[0] for n in range(FILES)} == {n for n, _ in fuzz_seeds.seeds()}
