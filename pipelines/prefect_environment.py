"""Prefect's settings for this tool, and the server that a merge starts for itself.

The settings must be in the environment before Prefect is first imported. Where `PREFECT_API_URL`
names a server, that one is used and nothing is started.

Prefect's own temporary server writes its shutdown errors to the terminal; a server that we start
writes to a log file in the study's store. It is bound to the loopback address.
"""

from __future__ import annotations

import contextlib
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from pipelines.errors import StudyError

START_SECONDS = 120
STOP_SECONDS = 10
API_URL = "PREFECT_API_URL"

_SETTINGS = {
    # No telemetry, of Prefect or of what it brings along.
    "DO_NOT_TRACK": "1",
    "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
    "PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY": "false",
    # Results hold patients' data: they stay in memory.
    "PREFECT_RESULTS_PERSIST_BY_DEFAULT": "false",
    "PREFECT_LOGGING_LOG_PRINTS": "false",
    # Failures are told by the command, in one line; logs could repeat what a cell says.
    "PREFECT_LOGGING_LEVEL": "CRITICAL",
    "PREFECT_LOGGING_TO_API_ENABLED": "false",
    "PREFECT_SERVER_LOGGING_LEVEL": "CRITICAL",
    "PREFECT_SERVER_UI_ENABLED": "false",
    # Of the server's services only those that record runs and events have work here.
    "PREFECT_SERVER_SERVICES_FOREMAN_ENABLED": "false",
    "PREFECT_SERVER_SERVICES_PAUSE_EXPIRATIONS_ENABLED": "false",
    "PREFECT_SERVER_SERVICES_CANCELLATION_CLEANUP_ENABLED": "false",
    "PREFECT_SERVER_SERVICES_TRIGGERS_ENABLED": "false",
    "PREFECT_CLI_PROMPT": "false",
}


def settle_environment(home: Path) -> None:
    """Puts the settings into the environment, for this process and its children."""
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    home.chmod(0o700)
    os.environ.update(_SETTINGS)
    os.environ["PREFECT_HOME"] = str(home)


@contextlib.contextmanager
def prefect_server(home: Path) -> Iterator[Callable[[], None]]:
    """A server for the time of a merge, started at once.

    Yields a function that returns when the server answers, and raises StudyError where it does
    not.
    """
    settle_environment(home)
    if named := os.environ.get(API_URL):
        if not named.startswith(("http://", "https://")):
            raise StudyError(f"{API_URL}: no address of a server; write it as http://HOST:PORT/api")
        yield partial(_await_answer, named, lambda: None)
        return
    port = _free_port()
    url = f"http://127.0.0.1:{port}/api"
    with (home / "server.log").open("wb") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "prefect", "server", "start", "--host", "127.0.0.1",
             "--port", str(port), "--no-scheduler", "--no-late-runs", "--no-ui"],
            stdout=log, stderr=log, stdin=subprocess.DEVNULL,
            # Else Python looks for modules where the user stands: that folder may hold anything.
            env={**os.environ, "PYTHONSAFEPATH": "1"},
        )  # fmt: skip
        os.environ[API_URL] = url
        try:
            yield partial(_await_answer, url, server.poll)
        finally:
            del os.environ[API_URL]
            _stop(server)


def _await_answer(url: str, ended: Callable[[], int | None]) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and ended() is None:
        with (
            contextlib.suppress(urllib.error.URLError, ConnectionError, TimeoutError),
            urllib.request.urlopen(f"{url}/health", timeout=5) as answer,
        ):
            if answer.status == 200:
                return
        time.sleep(0.1)
    raise StudyError(
        f"no Prefect server answers at {url}; see store/prefect/server.log, "
        f"or unset {API_URL} where it names a server of yours that is down"
    )


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _stop(server: subprocess.Popen[bytes]) -> None:
    server.terminate()
    try:
        server.wait(STOP_SECONDS)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()
