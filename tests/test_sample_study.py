"""The sample study is what its lists say: repeatable, complete, clean where nothing is planted."""

from __future__ import annotations

import ast
import codecs
import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pandas as pd
import pytest

from schemas.codebook import RECORD_TABLE, table_fields
from schemas.crosswalk import read_crosswalk
from schemas.rules import RULES
from schemas.study import read_study
from transforms.reading import read_workbook

SAMPLE = Path(__file__).parents[1] / "sample_inputs"
WEEKS = ("2026-W46", "2026-W47")
SITES = read_study(SAMPLE).sites
BYTE_ORDER_MARKS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16"}
TOOL = ("pipelines", "reports", "transforms", "schemas")
BROKEN = "uploads/2026-W47/sanderling/Oil and graft list.xlsx"


def listed(path: str) -> pd.DataFrame:
    return pd.read_csv(SAMPLE / "truth" / path, dtype="str", keep_default_na=False)


def content_of(name: str, content: bytes) -> object:
    """What a file holds, its compression aside: that hangs on the zlib library."""
    if not name.endswith((".xlsx", ".ods")) or name == BROKEN:
        return content
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return [(entry.filename, entry.date_time, archive.read(entry))
                for entry in archive.infolist()]  # fmt: skip


def text_of(path: Path) -> str:
    """Every text of an upload, archives unpacked."""
    if path.suffix == ".csv":
        content = path.read_bytes()
        marked = [name for mark, name in BYTE_ORDER_MARKS.items() if content.startswith(mark)]
        return content.decode(marked[0] if marked else "cp1252")  # Macintosh files: ASCII matters
    with zipfile.ZipFile(path) as archive:
        return "\n".join(archive.read(name).decode() for name in archive.namelist())


def write_elsewhere(folder: Path) -> dict[str, bytes]:
    """The study as a process of its own writes it: the library that writes .ods files numbers
    names by what the process wrote before."""
    command = [sys.executable, "-m", "sample_inputs.generator", "--into", str(folder)]
    subprocess.run(command, cwd=SAMPLE.parent, check=True, capture_output=True)
    return files_of(folder)


def files_of(study: Path) -> dict[str, bytes]:
    """Uploads and truth of a study, by path."""
    return {
        path.relative_to(study).as_posix(): path.read_bytes()
        for folder in ("uploads", "truth")
        for path in sorted((study / folder).rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return write_elsewhere(tmp_path_factory.mktemp("made"))


def test_generator_makes_the_committed_files(made: dict[str, bytes]):
    on_disk = files_of(SAMPLE)
    assert sorted(made) == sorted(on_disk)
    changed = [name for name, content in made.items()
               if content_of(name, content) != content_of(name, on_disk[name])]  # fmt: skip
    assert changed == []


def test_generator_makes_the_same_bytes_again(made: dict[str, bytes], tmp_path: Path):
    assert write_elsewhere(tmp_path) == made
    assert read_study(tmp_path).sites == SITES


@pytest.mark.parametrize("site", SITES)
def test_crosswalk_is_valid_and_takes_every_file(site: str):
    crosswalk = read_crosswalk(SAMPLE, read_study(SAMPLE), site)
    for week in WEEKS:
        for upload in (SAMPLE / "uploads" / week / site).iterdir():
            assert any(table.matches_file(upload.name) for table in crosswalk.tables), upload.name


def test_every_rule_is_planted():
    assert set(listed("defects.csv")["rule"]) == set(RULES)


@pytest.mark.parametrize("table", list(RECORD_TABLE.values()))
def test_every_column_of_the_warehouse_has_a_value_in_the_truth(table: str):
    truth = listed(f"{WEEKS[-1]}/{table}.csv")
    assert [name for name in truth if (truth[name] == "").all()] == []


def test_the_generator_reads_declarations_and_calls_no_tool():
    """The truth is what was meant: nothing that the tool works out may have a part in it."""
    imported = {
        (node.module or "") if isinstance(node, ast.ImportFrom) else alias.name
        for path in (SAMPLE / "generator").rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    own = {name for name in imported if name.split(".")[0] in TOOL}
    assert own == {"schemas.codebook", "schemas.rules"}


def test_no_place_is_planted_twice():
    defects = listed("defects.csv")
    placed = defects[defects["cell"] != ""]
    assert not placed.duplicated(["week", "site", "file", "sheet", "cell"]).any()


def test_identifiers_stand_where_they_are_listed():
    rows = listed("identifiers.csv")
    rows = rows[rows["where"] != "derived"]
    texts: dict[tuple[str, str, str], str] = {}
    absent = []
    for row in rows.itertuples():
        name = str(row.where).split("!")[0].split(" (")[0]
        place = (str(row.week), str(row.site), name)
        if place not in texts:
            texts[place] = name + text_of(SAMPLE / "uploads" / place[0] / place[1] / name)
        if str(row.value) not in texts[place]:
            absent.append(row.where)
    assert absent == []
    assert {"name", "record_number", "phone", "email", "birth_date", "surgeon"} <= set(rows["kind"])
    assert rows["where"].str.contains("file name").any()
    assert rows["where"].str.contains("author").any()
    assert rows["where"].str.contains("comment").any()


@pytest.mark.parametrize(
    ("file", "encoding", "epoch"),
    [
        ("2026-W46/avocet/cirugias.csv", "cp1252", None),
        ("2026-W46/avocet/complicaciones.csv", "mac_roman", None),
        ("2026-W47/avocet/complicaciones.csv", "utf-16", None),
        ("2026-W46/tern/seguimento.csv", "utf-8-sig", None),
        ("2026-W46/dunlin/Macular hole log.xlsx", None, 1900),
        ("2026-W46/sanderling/Oil and graft list.xlsx", None, 1904),
    ],
)
def test_files_are_read_as_the_centres_programs_wrote_them(
    file: str, encoding: str | None, epoch: int | None
):
    path = SAMPLE / "uploads" / file
    workbook = read_workbook(path.name, path.read_bytes())
    assert (workbook.encoding, workbook.epoch) == (encoding, epoch)
    assert workbook.encoding_is_certain


def test_record_numbers_belong_to_one_centre():
    rows = listed("identifiers.csv")
    numbers = rows[rows["kind"] == "record_number"]
    assert (numbers.groupby("value")["site"].nunique() == 1).all()


def test_the_broken_upload_is_no_archive_and_leaves_its_centre_as_it_was():
    with pytest.raises(zipfile.BadZipFile):
        zipfile.ZipFile(SAMPLE / BROKEN)
    for table in RECORD_TABLE.values():
        before, after = (
            listed(f"{week}/{table}.csv").loc[lambda rows: rows["site"] == "sanderling"]
            for week in WEEKS
        )
        assert before.to_numpy().tolist() == after.to_numpy().tolist()
        assert len(before) or table == "complications"


@pytest.mark.parametrize("week", WEEKS)
def test_every_centre_has_15_to_60_eyes(week: str):
    operations = listed(f"{week}/operations.csv")
    eyes = operations.drop_duplicates(["site", "record_number", "eye"]).groupby("site").size()
    assert set(eyes.index) == set(SITES)
    assert eyes.between(15, 60).all()


@pytest.mark.parametrize("week", WEEKS)
@pytest.mark.parametrize("table", list(RECORD_TABLE.values()))
def test_only_planted_values_are_unusual(week: str, table: str):
    """Centres planted with an unusual value in a field are the only ones that have one."""
    truth = listed(f"{week}/{table}.csv")
    defects = listed("defects.csv").loc[lambda d: d["rule"] == "outside_usual"]
    carried = defects["week"].eq(WEEKS[0]) & defects["site"].eq("sanderling")
    planted = defects[defects["week"].eq(week) | carried]
    for name, spec in table_fields(table).items():
        if name not in truth or (spec.soft is None and spec.hard is None):
            continue
        values = pd.to_numeric(truth[name])
        if spec.hard:
            assert values.dropna().between(spec.hard.low, spec.hard.high).all(), name
        if spec.soft:
            is_odd = values.notna() & ~values.between(spec.soft.low, spec.soft.high)
            own = planted[planted["field"] == spec.uploaded_as]
            assert sorted(truth[is_odd]["site"]) == sorted(own["site"]), name


def test_one_eye_starts_at_light_perception_and_another_falls_to_it():
    """Leaving light perception out then changes means at baseline and changes from it."""
    visits = listed(f"{WEEKS[-1]}/visits.csv")
    eye = ["site", "record_number", "eye", "operation_ordinal"]
    seen = visits.drop_duplicates([*eye, "visit"]).set_index([*eye, "visit"])["acuity_off_chart"]
    pairs = set(seen.unstack("visit")[["baseline", "m3"]].itertuples(index=False, name=None))
    assert {("light_perception", ""), ("hand_motion", "light_perception")} <= pairs


def test_closure_and_acuity_are_plausible():
    """Closure of 75 to 95 % and gains of 0.2 to 0.9 logMAR are what such series report."""
    operations = listed("2026-W47/operations.csv")
    decided = operations[operations["final_closure_strict"] != ""]
    rates = (decided["final_closure_strict"] == "true").groupby(decided["site"]).mean()
    assert rates.between(0.6, 1.0).all()
    visits = listed("2026-W47/visits.csv")
    means = pd.to_numeric(visits["acuity_logmar"]).groupby(visits["visit"]).mean()
    assert 0.2 < means["baseline"] - means["m12"] < 0.9
