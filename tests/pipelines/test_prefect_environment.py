"""Prefect is told to keep no results and to send nothing, and uses the server that is named."""

import contextlib
import json
import os
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from merged_sample import run_command
from small_study import W1, case, make_study

from pipelines.prefect_environment import prefect_server, settle_environment


@pytest.fixture
def environment(monkeypatch):
    """The environment without Prefect's settings, put back after the test."""
    for name in [n for n in os.environ if n.startswith("PREFECT") or n == "DO_NOT_TRACK"]:
        monkeypatch.delenv(name)
    known = dict(os.environ)
    yield os.environ
    os.environ.clear()
    os.environ.update(known)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("DO_NOT_TRACK", "1"),
        ("PREFECT_SERVER_ANALYTICS_ENABLED", "false"),
        ("PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY", "false"),
        ("PREFECT_RESULTS_PERSIST_BY_DEFAULT", "false"),
        ("PREFECT_LOGGING_LOG_PRINTS", "false"),
        ("PREFECT_LOGGING_TO_API_ENABLED", "false"),
        ("PREFECT_CLI_PROMPT", "false"),
    ],
)
def test_telemetry_results_and_logs_are_off(environment, tmp_path, name, value):
    settle_environment(tmp_path / "prefect")
    assert environment[name] == value


def test_a_setting_of_the_user_cannot_switch_telemetry_on(environment, tmp_path):
    environment["PREFECT_SERVER_ANALYTICS_ENABLED"] = "true"
    settle_environment(tmp_path / "prefect")
    assert environment["PREFECT_SERVER_ANALYTICS_ENABLED"] == "false"


def test_prefects_home_is_in_the_store_and_for_the_owner_alone(environment, tmp_path):
    settle_environment(tmp_path / "store" / "prefect")
    assert environment["PREFECT_HOME"] == str(tmp_path / "store" / "prefect")
    assert (tmp_path / "store" / "prefect").stat().st_mode & 0o777 == 0o700


def test_an_address_of_a_server_is_left_as_it_is(environment, tmp_path):
    environment["PREFECT_API_URL"] = "http://127.0.0.1:9/api"
    settle_environment(tmp_path / "prefect")
    assert environment["PREFECT_API_URL"] == "http://127.0.0.1:9/api"


def test_prefect_itself_reads_these_settings(environment, tmp_path):
    """Prefect's names for its settings change from one version to the next; ask it."""
    asked = (
        "from pathlib import Path; import json, sys\n"
        "from pipelines.prefect_environment import settle_environment\n"
        "settle_environment(Path(sys.argv[1]))\n"
        "from prefect.settings import get_current_settings\n"
        "s = get_current_settings()\n"
        "print(json.dumps([s.results.persist_by_default, s.server.analytics_enabled,"
        " s.cloud.enable_orchestration_telemetry, s.logging.to_api.enabled, s.logging.log_prints,"
        " str(s.home)]))"
    )
    home = tmp_path / "prefect"
    assert answer_to(asked, str(home)) == [False, False, False, False, False, str(home)]


def test_only_trouble_with_the_disk_is_tried_again(tmp_path):
    asked = (
        "from pathlib import Path; import json, sys\n"
        "from pipelines.prefect_environment import settle_environment\n"
        "settle_environment(Path(sys.argv[1]))\n"
        "from prefect.states import Failed\n"
        "from pipelines.errors import DiskTrouble, ProgramFault, StudyError\n"
        "from pipelines.flows import ingest_upload\n"
        "helps = ingest_upload.retry_condition_fn\n"
        "ends = [DiskTrouble('x'), StudyError('x'), ProgramFault('x')]\n"
        "print(json.dumps([helps(ingest_upload, None, Failed(data=end)) for end in ends]))"
    )
    assert answer_to(asked, str(tmp_path / "prefect")) == [True, False, False]


def answer_to(script, *words):
    """What a Python of its own prints as JSON; Prefect reads its settings once a process."""
    done = subprocess.run(
        [sys.executable, "-c", script, *words], capture_output=True, text=True, check=False,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@contextlib.contextmanager
def server_of_ours(home):
    """A Prefect server that keeps its database in `home`; gives the address of its API."""
    home.mkdir()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    clean = {k: v for k, v in os.environ.items() if not k.startswith("PREFECT")}
    with (home / "server.log").open("wb") as log, subprocess.Popen(
        [sys.executable, "-m", "prefect", "server", "start", "--host", "127.0.0.1",
         "--port", str(port), "--no-ui"],
        stdin=subprocess.DEVNULL, stdout=log, stderr=log,
        env=clean | {"PREFECT_HOME": str(home), "DO_NOT_TRACK": "1",
                     "PREFECT_SERVER_ANALYTICS_ENABLED": "false"},
    ) as server:  # fmt: skip
        try:
            await_health(f"http://127.0.0.1:{port}/api/health")
            yield f"http://127.0.0.1:{port}/api"
        finally:
            server.terminate()


def await_health(url):
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        with (
            contextlib.suppress(urllib.error.URLError, ConnectionError),
            urllib.request.urlopen(url, timeout=5),
        ):
            return
        time.sleep(0.2)
    raise AssertionError("the server does not answer")


def test_the_server_runs_nothing_of_the_folder_in_which_the_user_stands(
    environment, tmp_path, monkeypatch
):
    (tmp_path / "fastapi.py").write_text("raise SystemExit('not meant to run')", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    with prefect_server(tmp_path / "prefect") as await_server:
        await_server()


def test_a_merge_uses_the_server_that_is_named_and_starts_none(tmp_path):
    study = make_study(tmp_path / "study")
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("QX-77120-Z"))
    home = tmp_path / "server"
    with server_of_ours(home) as url:
        done = run_command("merge", str(study.folder.root), PREFECT_API_URL=url)
    assert done.returncode == 0, done.stderr
    assert (study.folder.out / "index.html").exists()
    with contextlib.closing(sqlite3.connect(home / "prefect.db")) as db:
        runs = dict(db.execute("SELECT name, state_type FROM task_run").fetchall())
        told = repr([db.execute(f"SELECT * FROM {t}").fetchall() for t in ("task_run", "log")])
    assert runs == dict.fromkeys(
        [f"ingest-alder-{W1}", f"ingest-birch-{W1}", "commit", "outputs"], "COMPLETED"
    )
    assert "77120" not in told
    for name in ("prefect.db", "server.log"):
        assert not (study.folder.prefect_home / name).exists()
