"""The command `foveapool`. Heavy libraries are imported by the command that needs them."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.markup import escape

from pipelines.errors import ProgramFault, StudyError, value_free
from pipelines.study_folder import study_folder
from schemas.settings_file import SettingsError

CLEAN, FINDINGS, WRONG, SET_ASIDE = 0, 1, 2, 3

app = typer.Typer(
    name="foveapool",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
    help="Pools series of refractory macular hole surgery from every centre's own spreadsheet. "
    "For research: no advice for one patient; ethics approval, data-sharing agreement and law at "
    "each centre go first.",
)

StudyArgument = Annotated[Path, typer.Argument(help="Folder that holds study.toml.")]
IntoOption = Annotated[
    Path | None,
    typer.Option("--into", help="Folder for store/ and out/; left out, the study's own."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


@contextmanager
def _told_in_one_line() -> Iterator[None]:
    """Errors that a user can cause end in one line and status 2, never in a traceback."""
    try:
        with value_free("unexpected"):
            yield
    except (SettingsError, StudyError) as error:
        Console(stderr=True).print(f"foveapool: {escape(str(error))}", style="red", soft_wrap=True)
        raise typer.Exit(WRONG) from None
    except ProgramFault as error:
        Console(stderr=True).print(
            f"foveapool: a fault of the program ({escape(str(error))}); store and outputs are as "
            "the last finished step left them; please report this line",
            style="red", soft_wrap=True,
        )  # fmt: skip
        raise typer.Exit(WRONG) from None


@app.callback()
def _root() -> None:
    """Keeps commands named even while there is only one."""


@app.command(epilog="Example: foveapool merge sample_inputs")
def merge(
    study: StudyArgument,
    week: Annotated[
        str | None, typer.Option("--week", help="Merge up to this ISO week, as 2026-W47.")
    ] = None,
    into: IntoOption = None,
    as_json: JsonOption = False,
) -> None:
    """Merge what has arrived and build every output.

    Ends with 0 when all is merged, 3 when an upload was set aside, 2 when settings are wrong.
    """
    with _told_in_one_line():
        from pipelines.merge import merge as run_merge
        from pipelines.progress import reporting

        folder = study_folder(study, into)
        with reporting(quiet=as_json):
            result = run_merge(folder, week)
    if as_json:
        print(json.dumps(asdict(result) | {"out": str(folder.out)}))
    else:
        console = Console(highlight=False, soft_wrap=True)
        uploads = f"{len(result.merged)} uploads" if result.did_work else "nothing new since"
        console.print(f"{uploads}, up to {result.week}. Open {escape(str(folder.out))}/index.html")
        for entry in result.set_aside:
            console.print(
                f"set aside: {entry['site']}, {entry['week']}, {escape(entry['file_name'])}: "
                f"{escape(entry['reason'])}",
                style="yellow",
            )
    raise typer.Exit(SET_ASIDE if result.set_aside else CLEAN)


@app.command(epilog="Example: foveapool check series.xlsx --site avocet --study sample_inputs")
def check(
    file: Annotated[Path, typer.Argument(help="The workbook to look at.")],
    site: Annotated[str, typer.Option("--site", help="Code of the centre that made it.")],
    study: Annotated[
        Path | None,
        typer.Option("--study", help="Folder of study.toml; left out, the nearest above FILE."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say what a merge would find in one workbook; nothing is written.

    Ends with 0 when clean, 1 with findings, 2 when it cannot be read.
    """
    with _told_in_one_line():
        from pipelines.check import check as run_check

        checked = run_check(file, site, study)
    shown = checked.findings[["sheet", "cell", "field", "rule", "action", "message", "mend"]]
    found = json.loads(shown.to_json(orient="records"))
    if as_json:
        unread = json.loads(checked.unread[["sheet", "cell", "heading"]].to_json(orient="records"))
        print(
            json.dumps(
                {"rows_read": checked.rows_read, "rows_held": checked.rows_held,
                 "findings": found, "unread": unread},
                ensure_ascii=False,
            )
        )  # fmt: skip
    else:
        console = Console(highlight=False, soft_wrap=True)
        for row in found:
            place = "!".join(filter(None, (row["sheet"], row["cell"])))
            console.print(
                f"[bold]{escape(place)}[/]  {row['action']}: {escape(row['message'])} "
                f"{escape(row['mend'])} \\[{row['rule']}]"
            )
        console.print(
            f"{checked.rows_read} rows, {checked.rows_held} held, {len(found)} findings, "
            f"{len(checked.unread)} sheets and columns left unread"
        )
    raise typer.Exit(FINDINGS if found else CLEAN)


@app.command(epilog="Example: foveapool status sample_inputs")
def status(study: StudyArgument, into: IntoOption = None, as_json: JsonOption = False) -> None:
    """Show which centre has sent what, what is late, and what is open."""
    with _told_in_one_line():
        from pipelines.status import status as read_status

        now = read_status(study_folder(study, into))
    if as_json:
        print(json.dumps(asdict(now), ensure_ascii=False))
        return
    from rich.table import Table

    table = Table("centre", "last good week", "", "waiting", "hold", "blank", "ask", box=None)
    for site in now.sites:
        word = "set aside" if site.set_aside else ("late" if site.is_late else "")
        counts = [str(site.open_findings.get(action, 0)) for action in ("hold", "blank", "ask")]
        table.add_row(site.title, site.last_good_week or "none", word, str(site.waiting), *counts)
    console = Console(highlight=False, soft_wrap=True)
    console.print(f"Merged up to {now.week or 'nothing yet'}. Open findings by what was done:")
    console.print(table)
    for site in now.sites:
        for line in site.set_aside:
            console.print(f"set aside: {site.site}: {escape(line)}")
    console.print(f"Next: {now.next_step}")


def main() -> None:
    """Entry point of the installed command."""
    sys.exit(app())
