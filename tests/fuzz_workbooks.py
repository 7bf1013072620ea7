"""Spoils valid workbooks and sends each the whole way of an upload, up to the warehouse.

Run: python tests/fuzz_workbooks.py --files 2000 --seed 1

Fails where a file brings out a fault of the program, takes longer than 5 s, or makes the reading
process larger than 1 GB. The same seed spoils the same files: `--first N --files 1` does the Nth
alone, and `--keep FOLDER` keeps those that failed.
"""

from __future__ import annotations

import argparse
import re
import resource
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz_mutations import spoil
from fuzz_seeds import seeds
from small_study import W1, make_study

from pipelines.errors import ProgramFault, StudyError, value_free
from pipelines.ingest import ingest
from pipelines.plan import Settings, read_all_settings
from pipelines.reading_process import NEEDS_MEMORY, NEEDS_TIME, reading_process
from pipelines.uploads import site_week
from transforms.intake import coded

MOST_SECONDS = 5.0
MOST_MEGABYTES = 1_000
SITE = "alder"
_TRIES = 2
_PEAK = re.compile(r"VmHWM:\s+(\d+) kB")


@dataclass(frozen=True)
class Outcome:
    """What became of one file: a fault of the program, a reason to set it aside, or neither."""

    seconds: float
    fault: str
    reason: str


@dataclass
class Outcomes:
    """What became of the files; `failures` says which ones and how."""

    files: int = 0
    read: int = 0
    set_aside: Counter[str] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)
    slowest: tuple[float, str] = (0.0, "")
    peak_reader_mb: float = 0.0

    def summary(self) -> str:
        here = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        lines = [f"{self.files} files: {self.read} read, {self.set_aside.total()} set aside, "
                 f"{len(self.failures)} failed"]  # fmt: skip
        lines += [f"{count:6}  {reason}" for reason, count in self.set_aside.most_common()]
        lines.append(f"slowest {self.slowest[0]:.2f} s ({self.slowest[1]}); "
                     f"peak {self.peak_reader_mb:.0f} MB reading, {here:.0f} MB here")  # fmt: skip
        return "\n".join([*lines, *(f"FAILED {failure}" for failure in self.failures)])


def spoilt_file(seed: int, number: int) -> tuple[str, str, bytes]:
    """Name, way of spoiling and content of the Nth file of a seed."""
    draw = Random(f"{seed}-{number}")
    name, content = draw.choice(seeds())
    way, spoilt = spoil(draw, name, content)
    return name, way, spoilt


def run(numbers: range, seed: int, folder: Path, keep: Path | None = None) -> Outcomes:
    """Spoils and checks files, in a study made below `folder`."""
    settings = read_all_settings(make_study(folder / "study").folder)
    sent = folder / W1 / SITE
    outcomes = Outcomes()
    reading_process().read(_written(folder / "good", *seeds()[0]))  # starting counts for no file
    for number in numbers:
        name, way, content = spoilt_file(seed, number)
        label = f"{number} {name} {way}"
        path = _written(sent, name, content)
        failures = len(outcomes.failures)
        _send(sent, settings, label, outcomes)
        if keep is not None and len(outcomes.failures) > failures:
            _written(keep, f"{number}-{name}", content)
        path.unlink()
    return outcomes


def _written(folder: Path, name: str, content: bytes) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_bytes(content)
    return path


def _send(sent: Path, settings: Settings, label: str, outcomes: Outcomes) -> None:
    outcomes.files += 1
    outcome = _outcome(sent, settings)
    for _ in range(_TRIES):
        if outcome.seconds <= MOST_SECONDS:
            break
        # On a busy machine anything takes long once; what hangs does so again.
        outcome = min(outcome, _outcome(sent, settings), key=lambda each: each.seconds)
    outcomes.slowest = max(outcomes.slowest, (outcome.seconds, label))
    outcomes.peak_reader_mb = max(outcomes.peak_reader_mb, peak := _peak_of_reader())
    if failed := outcome.fault or _excess(outcome.seconds, peak):
        outcomes.failures.append(f"{label}: {failed}")
    elif outcome.reason:
        outcomes.set_aside[outcome.reason] += 1
    else:
        outcomes.read += 1


def _outcome(sent: Path, settings: Settings) -> Outcome:
    started = time.monotonic()
    fault = reason = ""
    try:
        with value_free("spoilt"):
            reason = _taken_in(sent, settings)
    except (ProgramFault, StudyError) as told:
        fault = str(told)
    if reason in (NEEDS_MEMORY, NEEDS_TIME):
        fault = reason
    return Outcome(time.monotonic() - started, fault, re.sub(r"\d+", "N", reason)[:100])


def _taken_in(sent: Path, settings: Settings) -> str:
    """Takes in the one file of a folder; the reason why it is set aside, if it is."""
    upload = site_week(sent, SITE, W1)
    taken = ingest(upload, settings.crosswalks[SITE], settings.study, b"key", "as it stands")
    if taken.intake is None:
        return str(taken.uploads["reason"].iat[0])
    digests = taken.intake.digests.melt()["value"].dropna().unique()
    coded(taken.intake, {digest: f"#{n}" for n, digest in enumerate(digests)})
    return ""


def _excess(seconds: float, megabytes: float) -> str:
    if seconds > MOST_SECONDS:
        return f"{seconds:.1f} s"
    return f"{megabytes:.0f} MB" if megabytes > MOST_MEGABYTES else ""


def _peak_of_reader() -> float:
    """Megabytes that the reading process has had at most; 0 where a file ended it."""
    child = reading_process()._child
    if child is None:
        return 0.0
    status = Path(f"/proc/{child.process.pid}/status").read_text(encoding="ascii")
    found = _PEAK.search(status)
    return int(found[1]) / 1000 if found else 0.0


def main() -> int:
    """Runs as the command line says; 1 where a file failed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--files", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    numbers = range(given.first, given.first + given.files)
    with tempfile.TemporaryDirectory() as folder:
        outcomes = run(numbers, given.seed, Path(folder), given.keep)
    sys.stdout.write(outcomes.summary() + "\n")
    return bool(outcomes.failures)


if __name__ == "__main__":
    sys.exit(main())
