"""Reading a workbook of 5,000 rows and 60 columns, against calamine alone.

Run: python tests/benchmarks/bench_reading.py
"""

from __future__ import annotations

import io
import random
import statistics
import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import xlsxwriter
from python_calamine import CalamineWorkbook

sys.path.insert(0, str(Path(__file__).parents[2]))

from transforms.reading import read_workbook

ROWS = 5_000
ROUNDS = 9
WORDS = ("SF6", "C3F8", "air", "silicone oil", "closed", "open")
BAR = 2.0


def synthetic_workbook() -> bytes:
    """An id, 20 measures, 15 whole numbers, 14 words and 10 dates a row."""
    draw = random.Random(1)
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"default_date_format": "dd/mm/yyyy"}) as book:
        sheet = book.add_worksheet("Surgery log")
        sheet.write_row(0, 0, [f"Heading {number}" for number in range(60)])
        for row in range(1, ROWS + 1):
            values = [
                f"P{row:05}",
                *(draw.gauss(0, 1) for _ in range(20)),
                *(draw.randrange(100) for _ in range(15)),
                *(draw.choice(WORDS) for _ in range(14)),
                *(datetime(2020, 1, 1) + timedelta(draw.randrange(2000)) for _ in range(10)),
            ]
            sheet.write_row(row, 0, values)
    return file.getvalue()


def seconds(read: Callable[[], object]) -> float:
    started = time.perf_counter()
    read()
    return time.perf_counter() - started


def main() -> None:
    content = synthetic_workbook()

    def bare() -> object:
        return CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()

    def whole() -> object:
        return read_workbook("upload.xlsx", content)

    # In turns, so that a busy moment of the machine falls on both.
    pairs = [(seconds(bare), seconds(whole)) for _ in range(ROUNDS)]
    alone, ours = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(f"calamine alone {alone:.3f} s, read_workbook {ours:.3f} s, medians of {ROUNDS}")
    print(f"ratio {ours / alone:.2f} (bar {BAR})")


if __name__ == "__main__":
    main()
