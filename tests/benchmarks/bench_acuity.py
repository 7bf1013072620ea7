"""A million acuity cells of ten thousand distinct texts, against a pandas `map` of the same column.

In turns, so that a slow moment falls on both. The bar is 3 times.

Run: python -m pytest tests/benchmarks -o python_files='bench_acuity.py'
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from reading_context import context

from transforms.harmonise.read_cells import read_distinct

ROWS = 1_000_000
DISTINCT = 10_000
ROUNDS = 9
BAR = 3.0


def texts() -> list[str]:
    """Acuities as a column in feet might hold them, with all that people write beside them."""
    draw = random.Random(7)
    lines = [f"20/{size}" for size in (*range(10, 130), *range(150, 2000, 10))]
    partial = ["", "-1", "-2", "+1", "+2", " -1", " (+2)", " p", "+", "\u22122"]
    marks = ["", "", "", "", " cc", " sc", " PH", " PH 20/40", " PH NI", " (cc)"]
    found = {f"{draw.choice(('CF', 'HM'))} {draw.randrange(1, 600)} cm" for _ in range(300)}
    found |= {"CF", "HM", "LP", "NLP", "CF@1m", "CF 2'", "not done", "better", "~20/40", "<20/400"}
    while len(found) < DISTINCT:
        found.add(draw.choice(lines) + draw.choice(partial) + draw.choice(marks))
    return sorted(found)


def seconds(work: Callable[[], object]) -> float:
    started = time.process_time()  # the same however busy the machine is
    work()
    return time.process_time() - started


def test_work_grows_with_distinct_texts(capsys: pytest.CaptureFixture[str]) -> None:
    distinct = texts()
    drawn = np.random.default_rng(7).integers(0, DISTINCT, ROWS)
    # As cells are read: equal texts are objects of their own.
    column = pd.Series([distinct[place].encode().decode() for place in drawn], dtype="object")
    numbers = {text: float(place) for place, text in enumerate(distinct)}
    sheet = context("visit", "acuity", notation="snellen_feet")
    read_distinct(column.head(1000), sheet)  # loads the vocabularies
    pairs = [
        (seconds(lambda: column.map(numbers)), seconds(lambda: read_distinct(column, sheet)))
        for _ in range(ROUNDS)
    ]
    ratio = statistics.median(ours / alone for alone, ours in pairs)
    alone, ours = (statistics.median(times) for times in zip(*pairs, strict=True))
    with capsys.disabled():
        print(
            f"\nmap {alone:.3f} s, reading {ours:.3f} s, medians of {ROUNDS}; "
            f"ratio {ratio:.2f} (bar {BAR})"
        )
