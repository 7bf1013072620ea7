"""Prints what one way of reading a file takes at its peak, as JSON, in a process of its own.

Run by bench_reading.py: python peak_memory.py frame|read FILE. The figures are bytes: `peak`, how
much resident memory grew beyond what the imports took, and `frame`, the frame alone, values
included. tracemalloc would not see what calamine asks for itself.
"""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import pandas as pd
from python_calamine import CalamineWorkbook

from transforms.reading import read_workbook


def bare_frame(content: bytes) -> pd.DataFrame:
    """Calamine's rows as a frame, nothing else."""
    sheet = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0)
    return pd.DataFrame(sheet.to_python(skip_empty_area=False), dtype=object)


def _status(name: str) -> int:
    found = re.search(rf"^{name}:\s+(\d+) kB", Path("/proc/self/status").read_text(), re.MULTILINE)
    return int(found[1]) * 1024 if found else 0


def main(way: str, file: str) -> None:
    content = Path(file).read_bytes()
    Path("/proc/self/clear_refs").write_text("5")  # the peak from here on
    before = _status("VmRSS")
    if way == "frame":
        values = bare_frame(content)
    else:
        values = read_workbook(file, content).sheets[0].values
    peak = _status("VmHWM") - before
    print(json.dumps({"peak": peak, "frame": int(values.memory_usage(deep=True).sum())}))


if __name__ == "__main__":
    main(*sys.argv[1:])
