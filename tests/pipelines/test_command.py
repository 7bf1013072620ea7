"""The command as a user meets it: help, one line for each error of the user's, JSON."""

import errno
import fcntl
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from merged_sample import run_command
from small_study import W1, case, make_study
from typer.testing import CliRunner

from pipelines.command import app
from pipelines.ledger import write_ledger
from pipelines.plan import read_all_settings

REPOSITORY = Path(__file__).parents[2]
COMMANDS = [command.name or command.callback.__name__ for command in app.registered_commands]


def invoke(*words):
    """Runs the command in this process, which is quicker; nothing here gets as far as Prefect."""
    return CliRunner().invoke(app, [str(word) for word in words])


def assert_told_in_one_line(done, *parts):
    """One line on standard error that holds the parts, and status 2."""
    assert done.exit_code == 2, (done.output, done.exception)
    assert isinstance(done.exception, SystemExit)
    assert done.stdout == ""
    line, rest = done.stderr.split("\n", 1)
    assert rest == ""
    assert line.startswith("foveapool: ")
    for part in parts:
        assert str(part) in line


@pytest.fixture
def study(tmp_path):
    made = make_study(tmp_path / "study")
    made.send(W1, "alder", case("1"))
    return made


# Help


def test_the_commands_that_there_are():
    assert {"merge", "check", "status"} <= set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_shows_what_it_does_and_an_example(name):
    done = invoke(name, "--help")
    assert done.exit_code == 0
    assert f"Example: foveapool {name} " in " ".join(done.output.split())


def test_without_a_command_there_is_help_and_the_caution():
    done = invoke()
    text = " ".join(done.output.replace("│", " ").split())
    assert "no advice for one patient" in text
    for name in COMMANDS:
        assert name in text


# Errors of the user's


def test_a_folder_that_is_not_there(tmp_path):
    for name in ("merge", "status"):
        done = invoke(name, tmp_path / "nowhere")
        assert_told_in_one_line(done, tmp_path / "nowhere", "name the folder of study.toml")


def test_a_folder_without_a_study(tmp_path):
    for name in ("merge", "status"):
        done = invoke(name, tmp_path)
        assert_told_in_one_line(done, tmp_path / "study.toml", "there is no such file")


def test_a_week_in_which_nothing_was_sent(study):
    done = invoke("merge", study.folder.root, "--week", "2026-W20")
    assert_told_in_one_line(done, "nothing was sent in 2026-W20; there is 2026-W10")


def test_a_folder_of_uploads_that_is_no_week(study):
    study.send("week 10", "alder", case("1"))
    for name in ("merge", "status"):
        done = invoke(name, study.folder.root)
        assert_told_in_one_line(done, "week 10: no ISO week; name the folder like 2026-W47")


def test_a_folder_of_uploads_that_is_no_centre(study):
    study.send(W1, "aldr", case("1"))
    for name in ("merge", "status"):
        done = invoke(name, study.folder.root)
        assert_told_in_one_line(done, "aldr: no centre of study.toml", "did you mean 'alder'?")


def test_a_centre_that_is_none_of_the_study(study):
    done = invoke("check", study.folder.uploads / W1 / "alder" / "series.csv", "--site", "aldr")
    assert_told_in_one_line(done, "'aldr' is no centre of", "did you mean 'alder'?")


@pytest.mark.parametrize("name", ["study.toml", "crosswalks/alder.toml"])
def test_settings_that_are_no_toml(study, name):
    (study.folder.root / name).write_text("[study\nname = ", encoding="utf-8")
    done = invoke("merge", study.folder.root)
    assert_told_in_one_line(done, study.folder.root / name, "not valid TOML", "line 1")


def test_settings_with_an_unknown_key(study):
    study.change_crosswalk("alder", "decimal", "decimals")
    done = invoke("merge", study.folder.root)
    assert done.exit_code == 2
    assert "line 4: unknown key 'decimals' (did you mean 'decimal'?)" in done.stderr


def test_settings_that_name_a_table_as_a_value(study):
    (study.folder.root / "study.toml").write_text("study = 3\n", encoding="utf-8")
    done = invoke("merge", study.folder.root)
    assert done.exit_code == 2
    assert isinstance(done.exception, SystemExit)
    assert "study.toml, line 1" in done.stderr


def test_settings_that_are_no_text(study):
    (study.folder.root / "study.toml").write_bytes(b"\xff\xfe\x00")
    assert_told_in_one_line(invoke("merge", study.folder.root), "study.toml: cannot be read")


def test_a_study_without_uploads(tmp_path):
    empty = make_study(tmp_path / "empty")
    assert_told_in_one_line(invoke("merge", empty.folder.root), "no uploads; put a centre's file")


def test_a_file_that_is_not_there(study):
    done = invoke("check", study.folder.root / "none.xlsx", "--site", "alder")
    assert_told_in_one_line(done, "none.xlsx: there is no such file")


def test_a_file_that_cannot_be_read(study):
    path = study.send_broken(W1, "alder")
    assert_told_in_one_line(invoke("check", path, "--site", "alder"), path)


def test_a_key_that_others_can_read(study):
    study.merge()
    study.folder.key.chmod(0o644)
    done = invoke("merge", study.folder.root)
    assert_told_in_one_line(done, study.folder.key, "others can read the key; run chmod 600 on it")


def test_a_key_that_is_not_the_studys(study):
    study.merge()
    study.folder.key.write_text("00" * 32, encoding="ascii")
    done = invoke("merge", study.folder.root)
    assert_told_in_one_line(done, "made with another key than", "put the right key back")


def test_a_key_that_is_damaged(study):
    study.merge()
    study.folder.key.write_text("not hexadecimal", encoding="ascii")
    assert_told_in_one_line(invoke("merge", study.folder.root), study.folder.key)


def test_a_linkage_that_is_damaged(study):
    study.merge()
    study.folder.linkage.write_text("{", encoding="ascii")
    assert_told_in_one_line(invoke("merge", study.folder.root), study.folder.linkage)


def test_a_warehouse_that_is_damaged(study):
    study.merge()
    study.folder.warehouse.write_bytes(b"no database " * 1000)
    done = invoke("merge", study.folder.root)
    assert_told_in_one_line(done, study.folder.warehouse, "damaged")


def test_a_merge_while_another_one_runs(study):
    study.merge()
    before = study.log("weeks").to_csv()
    study.send("2026-W11", "alder", case("1"))
    with study.folder.lock.open("w", encoding="ascii") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        lock.write("4711")
        lock.flush()
        done = invoke("merge", study.folder.root)
    assert_told_in_one_line(done, "another merge is running (process 4711); wait until it is done")
    assert study.log("weeks").to_csv() == before


@pytest.mark.parametrize("name", ["merge", "status"])
def test_an_upload_that_the_disk_does_not_give(study, name, monkeypatch):
    """A file that is there and cannot be read, as on a failing disk."""

    def fails(path):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr("pipelines.uploads.opened", fails)
    assert_told_in_one_line(invoke(name, study.folder.root), "alder", W1)


def test_a_place_for_the_store_that_is_a_file(study, tmp_path):
    (tmp_path / "taken").write_text("", encoding="ascii")
    done = invoke("merge", study.folder.root, "--into", tmp_path / "taken")
    assert_told_in_one_line(done, tmp_path / "taken")


def test_a_damaged_ledger(study):
    study.merge()
    study.folder.ledger.write_text("{", encoding="ascii")
    assert_told_in_one_line(invoke("status", study.folder.root), study.folder.ledger, "damaged")


def test_brackets_in_a_path_are_no_markup(tmp_path):
    done = invoke("status", tmp_path / "[red]nowhere[/]")
    assert_told_in_one_line(done, tmp_path / "[red]nowhere[/]")


@pytest.mark.parametrize(
    "words", [["check", "series.csv", "--site", "aldr"], ["merge", "nowhere"]], ids=" ".join
)
def test_the_same_as_a_process_of_its_own(study, words):
    if words[0] == "check":
        words[1] = str(study.folder.uploads / W1 / "alder" / "series.csv")
    done = run_command(*words)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("foveapool: ")
    assert done.stderr.count("\n") == 1


def test_a_week_that_is_no_week_is_refused_as_such(study):
    """2026-10 is no week in which nothing was sent: it is no week."""
    done = invoke("merge", study.folder.root, "--week", "2026-10")
    assert_told_in_one_line(done, "'2026-10' is no ISO week; write it as 2026-W47")


def test_a_wrong_address_of_a_prefect_server(study):
    done = run_command("merge", str(study.folder.root), PREFECT_API_URL="nonsense")
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    assert "PREFECT_API_URL" in done.stderr


# What the commands answer


def test_check_of_a_clean_workbook_ends_with_0(study):
    done = invoke("check", study.folder.uploads / W1 / "alder" / "series.csv", "--site", "alder")
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines() == [
        "read as text table, UTF-8, cells parted by commas, decimal point",
        "2 rows, 0 held, 0 findings, 0 sheets and columns left unread",
    ]


def test_check_of_a_workbook_with_findings_ends_with_1(study):
    path = study.send(W1, "alder", case("1", MLD="wide"))
    done = invoke("check", path, "--site", "alder")
    assert done.exit_code == 1, done.output
    first, _, last = done.stdout.splitlines()
    assert first == (
        "csv!F2  blank: Minimum hole diameter is not a number. Enter a plain number in µm; "
        "leave it empty where it was not measured. [number_unreadable]"
    )
    assert last == "2 rows, 0 held, 1 findings, 0 sheets and columns left unread"


def test_check_as_json(study):
    path = study.send(W1, "alder", case("1", MLD="wide"))
    told = json.loads(invoke("check", path, "--site", "alder", "--json").stdout)
    assert (told["rows_read"], told["rows_held"], told["unread"]) == (2, 0, [])
    assert told["read_as"] == "text table, UTF-8, cells parted by commas, decimal point"
    (finding,) = told["findings"]
    assert finding.keys() == {"sheet", "cell", "field", "rule", "action", "message", "mend"}
    assert (finding["cell"], finding["rule"]) == ("F2", "number_unreadable")


def test_status_as_json(study):
    study.send_broken(W1, "birch")
    study.merge()
    write_ledger(study.folder, read_all_settings(study.folder))
    done = invoke("status", study.folder.root, "--json")
    told = json.loads(done.stdout)
    assert done.exit_code == 0
    assert told["week"] == W1
    assert [site["site"] for site in told["sites"]] == ["birch", "alder"]
    assert told["sites"][0]["is_late"]
    assert told["next_step"] == "ask birch for a file that can be read"


def test_status_before_the_first_merge(study):
    done = invoke("status", study.folder.root)
    assert done.exit_code == 0
    assert "Merged up to nothing yet" in done.stdout
    assert done.stdout.endswith("Next: run foveapool merge: files are waiting\n")


HEAVY = ("prefect", "great_expectations", "matplotlib")

SHOWS_MODULES = """
import sys
from pipelines.command import app
try:
    app(sys.argv[1:])
except SystemExit as ended:
    print(ended.code, sorted({name.partition(".")[0] for name in sys.modules}), file=sys.stderr)
"""


def modules_after(*words):
    done = subprocess.run(
        [sys.executable, "-c", SHOWS_MODULES, *map(str, words)], capture_output=True, text=True,
        check=True, cwd=REPOSITORY,
    )  # fmt: skip
    code, listed = done.stderr.strip().split(" ", 1)
    assert code == "0", done.stderr
    return set(json.loads(listed.replace("'", '"')))


def test_check_loads_neither_prefect_nor_great_expectations(study):
    path = study.folder.uploads / W1 / "alder" / "series.csv"
    loaded = modules_after("check", path, "--site", "alder")
    assert "pandas" in loaded
    assert loaded.isdisjoint(HEAVY)


def test_status_loads_neither_prefect_nor_great_expectations_nor_the_database(study):
    study.merge()
    write_ledger(study.folder, read_all_settings(study.folder))
    loaded = modules_after("status", study.folder.root)
    assert "typer" in loaded
    assert loaded.isdisjoint((*HEAVY, "duckdb"))
