"""The command `foveapool`. Heavy libraries are imported by the command that needs them."""

from __future__ import annotations

import atexit
import gc
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from pipelines.errors import ProgramFault, StudyError, value_free
from pipelines.study_folder import study_folder
from schemas.codes import NOTATION
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


def _say(line: str, *, style: str = "", bold: int = 0, as_error: bool = False) -> None:
    """Prints one line: in a style and with its first `bold` signs bold on a terminal, plain
    elsewhere, where rich need not be imported."""
    stream = sys.stderr if as_error else sys.stdout
    if not stream.isatty():
        print(line, file=stream)
        return
    from rich.console import Console
    from rich.text import Text

    text = Text(line, style=style)
    text.stylize("bold", 0, bold)
    Console(file=stream).print(text, soft_wrap=True)


@contextmanager
def _without_collection() -> Iterator[None]:
    """For imports: what they make lives on, and looking through it for what could be freed takes a
    tenth of the time of `check`."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


@contextmanager
def _told_in_one_line() -> Iterator[None]:
    """Errors that a user can cause end in one line and status 2, never in a traceback."""
    try:
        with value_free("unexpected"):
            yield
    except (SettingsError, StudyError) as error:
        _say(f"foveapool: {error}", style="red", as_error=True)
        raise typer.Exit(WRONG) from None
    except ProgramFault as error:
        _say(
            f"foveapool: a fault of the program ({error}); store and outputs are as the last "
            "finished step left them; please report this line",
            style="red",
            as_error=True,
        )
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
        uploads = f"{len(result.merged)} uploads" if result.did_work else "nothing new since"
        _say(f"{uploads}, up to {result.week}. Open {folder.out}/index.html")
        for entry in result.set_aside:
            _say(
                f"set aside: {entry['site']}, {entry['week']}, {entry['file_name']}: "
                f"{entry['reason']}",
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
        from pipelines.reading_process import reading_process

        reading_process().start()  # first: it takes as long to start as the imports that follow
        with _without_collection():
            from pipelines.check import check as run_check

        checked = run_check(file, site, study)
    shown = checked.findings[["sheet", "cell", "field", "rule", "action", "message", "mend"]]
    found = json.loads(shown.to_json(orient="records"))
    if as_json:
        unread = json.loads(checked.unread[["sheet", "cell", "heading"]].to_json(orient="records"))
        print(
            json.dumps(
                {"read_as": checked.read_as, "rows_read": checked.rows_read,
                 "rows_held": checked.rows_held, "findings": found, "unread": unread},
                ensure_ascii=False,
            )
        )  # fmt: skip
    else:
        for row in found:
            _say_finding(row)
        _say(f"read as {checked.read_as}")
        _say(
            f"{checked.rows_read} rows, {checked.rows_held} held, {len(found)} findings, "
            f"{len(checked.unread)} sheets and columns left unread"
        )
    raise typer.Exit(FINDINGS if found else CLEAN)


def _say_finding(finding: dict[str, str | None]) -> None:
    place = "!".join(filter(None, (finding["sheet"], finding["cell"])))
    told = "{action}: {message} {mend} [{rule}]".format(**finding)
    _say(f"{place}  {told}", bold=len(place))


@app.command(epilog="Example: foveapool status sample_inputs")
def status(study: StudyArgument, into: IntoOption = None, as_json: JsonOption = False) -> None:
    """Show which centre has sent what, what is late, and what is open."""
    with _told_in_one_line():
        from pipelines.status import status as read_status

        now = read_status(study_folder(study, into))
    if as_json:
        print(json.dumps(asdict(now), ensure_ascii=False))
        return
    from rich.console import Console
    from rich.markup import escape
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


@app.command(epilog="Example: foveapool template sample_inputs --language de")
def template(
    study: StudyArgument,
    language: Annotated[
        str, typer.Option("--language", help="en, es, fr, de or pt: of headings, lists and notes.")
    ] = "en",
    acuity: Annotated[
        str,
        typer.Option(
            "--acuity",
            help="How the centre writes acuities; letter scores have four scales: "
            f"{', '.join(NOTATION)}.",
        ),
    ] = "logmar",
    to: Annotated[
        Path | None,
        typer.Option("--to", help="Folder or .xlsx file to write; left out, the current folder."),
    ] = None,
) -> None:
    """Write the blank upload workbook; a centre that fills it in needs no crosswalk."""
    with _told_in_one_line():
        from pipelines.template import write_template

        path = write_template(study, language, acuity, to)
    _say(f"Written: {path}")


@app.command(epilog="Example: foveapool draft series.xlsx --site heron --to crosswalks/heron.toml")
def draft(
    files: Annotated[list[Path], typer.Argument(help="All files that the centre sends.")],
    site: Annotated[str, typer.Option("--site", help="Code for the centre, as for its folder.")],
    study: Annotated[
        Path | None,
        typer.Option("--study", help="Folder of study.toml, for its windows of visits."),
    ] = None,
    language: Annotated[
        str | None,
        typer.Option("--language", help="en, es, fr, de or pt; left out, found from headings."),
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--to", help="A new file to write; left out, it is printed.")
    ] = None,
) -> None:
    """Propose a crosswalk for a new centre, with a reason and a confidence for each line.

    Ends with 0, or with 2 when a file cannot be read.
    """
    with _told_in_one_line():
        from pipelines.reading_process import reading_process

        reading_process().start()  # first: it takes as long to start as the imports that follow
        with _without_collection():
            from pipelines.draft import draft_crosswalk, write_draft

        drafted = draft_crosswalk(files, site, study, language)
        if to:
            write_draft(drafted, to)
    if to is None:
        print(drafted.toml, end="")
        return
    _say(
        f"Written: {to}: {drafted.certain} lines stand, {drafted.uncertain} wait to be confirmed. "
        "Read it, then run foveapool check."
    )


def main() -> None:
    """Entry point of the installed command."""
    # At its end Python looks through all that is alive for what could be freed, which takes a fifth
    # of a second with pandas loaded and frees nothing.
    atexit.register(gc.freeze)
    sys.exit(app())
