"""What reading costs beside calamine alone: time and memory for 5,000 rows of 60 columns.

Run: python -m pytest tests/benchmarks -o python_files='bench_*.py'
"""

from __future__ import annotations

import io
import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook
from wide_workbooks import MAKERS

from transforms.reading import read_workbook

ROUNDS = 9
# Times of the bare read. The first is the bar that was set; the others keep what was reached.
MOST_TIME = {"wide.xlsx": 2.0, "wide.ods": 3.0, "wide.xls": 4.0, "empty.xlsx": 3.0}
# Times of the bare frame of the same rows, its values included.
MOST_MEMORY = {"wide.xlsx": 6.0, "wide.ods": 6.0, "wide.xls": 6.0}
MOST_FOR_EMPTY = 250_000_000  # bytes; the sheet's XML alone has 65,000,000


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("wide")


@pytest.fixture(params=MAKERS)
def file(request: pytest.FixtureRequest, files: Path) -> Path:
    """A workbook, made once."""
    path: Path = files / request.param
    if not path.exists():
        path.write_bytes(MAKERS[request.param]())
    return path


def bare(content: bytes) -> object:
    return CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()


@pytest.mark.benchmark(timer=time.process_time)  # the same however busy the machine is
def test_time(file: Path, benchmark, capsys: pytest.CaptureFixture[str]):
    content = file.read_bytes()
    alone = []

    def read_alone() -> None:  # before each round, so that a slow moment falls on both
        started = time.process_time()
        bare(content)
        alone.append(time.process_time() - started)

    benchmark.pedantic(
        read_workbook, args=(file.name, content), setup=read_alone, rounds=ROUNDS, warmup_rounds=1
    )
    ratio = benchmark.stats.stats.median / statistics.median(alone)
    benchmark.extra_info["times_calamine"] = round(ratio, 2)
    with capsys.disabled():
        print(
            f"\n{file.name}: calamine alone {statistics.median(alone):.3f} s, read_workbook "
            f"{benchmark.stats.stats.median:.3f} s, {ratio:.2f} times (bar {MOST_TIME[file.name]})"
        )
    assert ratio <= MOST_TIME[file.name]


@pytest.mark.skipif(not Path("/proc/self/clear_refs").exists(), reason="peaks are told by Linux")
def test_memory(file: Path, capsys: pytest.CaptureFixture[str]):
    frame, ours = (measured(way, file) for way in ("frame", "read"))
    most = MOST_MEMORY[file.name] * frame["frame"] if file.name in MOST_MEMORY else MOST_FOR_EMPTY
    with capsys.disabled():
        print(
            f"\n{file.name}: bare frame {frame['frame'] / 1e6:.1f} MB, at its making "
            f"{frame['peak'] / 1e6:.1f} MB; read_workbook at most {ours['peak'] / 1e6:.1f} MB "
            f"(bar {most / 1e6:.1f} MB)"
        )
    assert ours["peak"] <= most


def measured(way: str, file: Path) -> dict[str, int]:
    script = Path(__file__).with_name("peak_memory.py")
    done = subprocess.run(
        [sys.executable, str(script), way, str(file)], capture_output=True, text=True, check=True
    )
    found: dict[str, int] = json.loads(done.stdout)
    return found
