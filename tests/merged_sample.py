"""The sample study, merged twice by the command itself, once a test session."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

SAMPLE = Path(__file__).parents[1] / "sample_inputs"
TRUTH = SAMPLE / "truth"
WEEKS = ("2026-W46", "2026-W47")


@dataclass(frozen=True)
class Run:
    """One run of the command: its status, what it printed, and the outputs' checksums after it."""

    status: int
    printed: str
    checksums: dict[str, str]


@dataclass(frozen=True)
class MergedSample:
    """Where the sample study was merged to, and the two runs."""

    into: Path
    first: Run
    second: Run

    @property
    def store(self) -> Path:
        return self.into / "store"

    @property
    def out(self) -> Path:
        return self.into / "out"


def run_command(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Runs `foveapool` as a user would, with nothing of Prefect in the environment."""
    clean = {k: v for k, v in os.environ.items() if not k.startswith("PREFECT")}
    return subprocess.run(
        [sys.executable, "-m", "pipelines", *words], capture_output=True, text=True, check=False,
        cwd=SAMPLE.parent, env=clean | environment,
    )  # fmt: skip


def merge_sample(into: Path) -> MergedSample:
    """Merges the sample study below `into`, twice."""
    return MergedSample(into, _merge(into), _merge(into))


def _merge(into: Path) -> Run:
    done = run_command("merge", str(SAMPLE), "--into", str(into))
    return Run(done.returncode, done.stdout + done.stderr, checksums(into / "out"))


def checksums(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below a folder."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def truth(week: str, table: str) -> pd.DataFrame:
    """What the generator meant the warehouse to hold after a week, all cells as text."""
    return pd.read_csv(TRUTH / week / f"{table}.csv", dtype="str", keep_default_na=False)
