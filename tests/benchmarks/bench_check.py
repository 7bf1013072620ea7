"""`foveapool check` on 500 rows and 60 columns, against the import of pandas and pandera.

Whole processes, as a person waits for them, in turns. The bar is 2.5 times.
"""

from __future__ import annotations

import datetime as dt
import random
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest
import xlsxwriter

ROWS = 500
ROUNDS = 7
BAR = 2.5
ROOT = Path(__file__).parents[2]
IMPORTS = [sys.executable, "-c", "import pandas, pandera.pandas"]

STUDY = """\
[study]
name  = "Shingle Bank refractory hole series"
sites = ["curlew"]

[visits]
m1  = [14, 30, 59]
m3  = [60, 90, 135]
m6  = [136, 180, 270]
m12 = [271, 365, 545]

[closure]
primary = "m3"
"""

OPERATION = {
    "patient_id": '"No"', "eye": '"Eye"', "operation_date": '"Op"', "birth_date": '"Born"',
    "sex": '"Sex"', "surgeon": '"Surgeon"', "indication": '"Why"', "prior_repairs": '"Prior"',
    "hole_duration": '"Months"', "axial_length": '"AL"', "lens_status": '"Lens"',
    "hole_min_diameter": '{ heading = "MLD", unit = "um" }',
    "hole_base_diameter": '{ heading = "Base", unit = "um" }',
    "technique": '"Technique"', "graft_diameter": '{ heading = "Graft", unit = "um" }',
}  # fmt: skip
VISIT = {
    "date": '"{v} date"', "acuity": '{{ heading = "{v} VA", notation = "snellen_feet" }}',
    "closure": '"{v} OCT"', "under_tamponade": '"{v} gas"', "elm": '"{v} ELM"',
    "ellipsoid_zone": '"{v} EZ"', "ez_defect": '{{ heading = "{v} gap", unit = "um" }}',
    "microperimetry_mean": '"{v} MP"', "iop": '"{v} IOP"',
}  # fmt: skip
VISITS = ("V1", "V2", "V3", "V4", "V5")


def crosswalk() -> str:
    lines = [
        'site = "curlew"', 'title = "Curlew Bank Eye Unit"', 'dates = "day-first"',
        'decimal = "point"', "[[table]]", 'row = "operation"', "[table.fields]",
        *(f"{name} = {source}" for name, source in OPERATION.items()),
    ]  # fmt: skip
    for visit in VISITS:
        lines.append("[[table.visits]]")
        lines += [f"{name} = {source.format(v=visit)}" for name, source in VISIT.items()]
    return "\n".join(lines)


def headings() -> list[str]:
    named = [*OPERATION.values(), *(s.format(v=v) for v in VISITS for s in VISIT.values())]
    return [source.split('"')[1] for source in named]


def row(draw: random.Random, number: int) -> list[object]:
    operated = dt.datetime(2022, 1, 3) + dt.timedelta(draw.randrange(900))
    cells: list[object] = [
        f"C{number:04}", draw.choice(["OD", "OS"]), operated,
        dt.datetime(1950, 5, 1) + dt.timedelta(draw.randrange(4000)), draw.choice("mf"),
        draw.choice(["Osk", "Ruan", "Tveit"]), draw.choice(["persistent", "recurrent"]),
        draw.randrange(1, 4), draw.randrange(2, 40), round(draw.gauss(24, 1.2), 2),
        draw.choice(["phakic", "IOL"]), draw.randrange(380, 1200), draw.randrange(700, 1900),
        draw.choice(["autologous retinal graft, C3F8 14%", "amniotic membrane, SF6 20%",
                     "ILM free flap, air", "ART, silicone oil", "repeat peel, C3F8 14%"]),
        draw.randrange(800, 2200),
    ]  # fmt: skip
    for after in (0, 30, 92, 181, 364):
        has_gas = draw.choice([True, False])
        scan = "not gradable" if has_gas else draw.choice(["closed", "flat open", "open"])
        cells += [
            operated + dt.timedelta(after), f"20/{draw.choice([40, 60, 100, 200, 400])}",
            scan, "yes" if has_gas else "no",
            draw.choice(["intact", "absent", "discontinuous"]),
            draw.choice(["intact", "absent", "discontinuous"]), draw.randrange(50, 900),
            round(draw.uniform(5, 28), 1), draw.randrange(9, 22),
        ]  # fmt: skip
    return cells


def make_study(folder: Path) -> Path:
    """A study of one centre; returns its workbook."""
    (folder / "crosswalks").mkdir(parents=True)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    (folder / "crosswalks" / "curlew.toml").write_text(crosswalk(), encoding="utf-8")
    file = folder / "series.xlsx"
    draw = random.Random(3)
    with xlsxwriter.Workbook(file, {"default_date_format": "dd/mm/yyyy"}) as book:
        sheet = book.add_worksheet("Log")
        sheet.write_row(0, 0, headings())
        for number in range(1, ROWS + 1):
            sheet.write_row(number, 0, row(draw, number))
    return file


def seconds(command: list[str], statuses: tuple[int, ...]) -> float:
    started = time.perf_counter()
    done = subprocess.run(command, capture_output=True, check=False, cwd=ROOT)
    assert done.returncode in statuses, done.stderr.decode()
    return time.perf_counter() - started


def test_check_answers_soon(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = make_study(tmp_path / "study")
    assert len(headings()) == 60
    command = Path(sys.executable).parent / "foveapool"
    check = [str(command), "check", str(file), "--site", "curlew"]
    seconds(IMPORTS, (0,)), seconds(check, (0, 1))  # fill the disk's cache
    pairs = [(seconds(IMPORTS, (0,)), seconds(check, (0, 1))) for _ in range(ROUNDS)]
    ratio = statistics.median(ours / imports for imports, ours in pairs)
    imports, ours = (statistics.median(times) for times in zip(*pairs, strict=True))
    with capsys.disabled():
        print(
            f"\nimports {imports:.2f} s, check of {ROWS} x 60 {ours:.2f} s, medians of {ROUNDS}; "
            f"ratio {ratio:.2f} (bar {BAR})"
        )
