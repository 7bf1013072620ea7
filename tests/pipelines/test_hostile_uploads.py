"""Whatever a centre sends is set aside with one line, and all else is merged."""

import json
import os

import pytest
from hostile_files import CONTENTS, PLACES, make_hostile, with_part, words_for, workbook
from small_study import W1, W2, case, make_study
from typer.testing import CliRunner

from pipelines.check import check
from pipelines.command import app
from pipelines.errors import StudyError
from pipelines.file_opening import CHANGED, GONE
from pipelines.ledger import write_ledger
from pipelines.outputs import build_outputs
from pipelines.plan import read_all_settings
from pipelines.status import status

CENTRES = {what: f"c{number:02}" for number, what in enumerate([*CONTENTS, *PLACES])}


@pytest.fixture
def study(tmp_path):
    """A study in which birch sent a good file."""
    study = make_study(tmp_path / "study")
    study.send(W1, "birch", case("1"))
    return study


def alders(study, week=W1):
    """Where alder's files of a week lie."""
    return study.folder.uploads / week / "alder"


def became(study, week=W1):
    """Status and reason of each upload, by centre; the reasons are single lines."""
    uploads = study.log("uploads").query("week == @week")
    reasons = uploads["reason"].astype(object).where(uploads["reason"].notna(), None)
    assert all(reason is None or reason.isprintable() for reason in reasons)
    outcomes = zip(uploads["status"], reasons, strict=True)
    return dict(zip(uploads["site"], outcomes, strict=True))


@pytest.fixture(scope="module")
def all_at_once(tmp_path_factory):
    """A study in which each kind of file comes from a centre of its own, and birch sends a good
    one: what became of each centre's upload, and the operations."""
    study = make_study(tmp_path_factory.mktemp("hostile") / "study")
    study.send(W1, "birch", case("1"))
    for what, site in CENTRES.items():
        study.add_centre(site)
        make_hostile(what, study.folder.uploads / W1 / site)
    study.merge()
    return became(study), study.as_of("operations", W1)


@pytest.mark.parametrize("what", CENTRES)
def test_it_is_set_aside_with_the_reason(all_at_once, what):
    uploads, _ = all_at_once
    outcome, reason = uploads[CENTRES[what]]
    assert outcome == "set_aside"
    assert words_for(what) in reason


def test_the_good_file_of_another_centre_is_merged_beside_all_of_them(all_at_once):
    uploads, operations = all_at_once
    assert uploads["birch"] == ("merged", None)
    assert list(operations["site"]) == ["birch"]


@pytest.mark.parametrize("what", CENTRES)
def test_check_tells_the_same_in_one_line(study, what):
    place = make_hostile(what, alders(study))
    done = CliRunner().invoke(app, ["check", str(place), "--site", "alder"])
    assert done.exit_code == 2
    assert done.stdout == ""
    line, rest = done.stderr.split("\n", 1)
    assert rest == ""
    assert line.startswith(f"foveapool: {place}: ")
    assert words_for(what) in line


def test_it_stays_set_aside_and_is_not_merged_again(study):
    make_hostile("a pipe", alders(study))
    study.merge()
    assert study.merge() == []


def test_a_file_in_place_of_a_link_is_merged_next_time(study):
    place = make_hostile("a link to a file", alders(study))
    study.merge()
    content = place.read_bytes()
    place.unlink()
    place.write_bytes(content)
    assert study.merge() == [("alder", W1)]
    assert became(study)["alder"] == ("merged", None)


def test_a_good_file_beside_a_link_waits_for_the_other(study):
    """What a centre sends in a week belongs together."""
    study.send(W1, "alder", case("1"), name="more.csv")
    make_hostile("a link to a file", alders(study))
    study.merge()
    uploads = study.log("uploads").query("site == 'alder'")
    assert set(uploads["status"]) == {"set_aside"}


@pytest.mark.parametrize(
    ("place", "centres"), [("2026-W11/alder", {"alder"}), ("2026-W11", {"alder", "birch"})]
)
def test_a_folder_that_is_a_link_is_not_looked_into(study, tmp_path, place, centres):
    elsewhere = make_study(tmp_path / "other")
    elsewhere.send(W2, "alder", case("1"))
    link = study.folder.uploads / place
    link.parent.mkdir(exist_ok=True)
    link.symlink_to(elsewhere.folder.uploads / place)
    study.merge()
    uploads = became(study, W2)
    assert uploads.keys() == centres
    assert all(
        outcome == "set_aside" and "folder is a symbolic link" in reason
        for outcome, reason in uploads.values()
    )
    assert list(study.as_of("operations", W2)["site"]) == ["birch"]  # of the week before


def test_a_pipe_in_place_of_a_centres_folder(study):
    os.mkfifo(alders(study))
    study.merge()
    assert "in place of a folder" in became(study)["alder"][1]
    assert became(study)["birch"] == ("merged", None)


def test_a_file_that_changes_while_it_is_read_is_taken_at_the_next_merge(study):
    study.send(W1, "alder", case("1"))
    study.merge(meanwhile=lambda: study.send(W1, "alder", case("1"), case("2")))
    assert became(study) == {"alder": ("set_aside", CHANGED), "birch": ("merged", None)}
    assert study.merge() == [("alder", W1)]
    assert became(study)["alder"] == ("merged", None)
    assert len(study.as_of("operations", W1, "alder")) == 2


def test_a_file_that_was_changed_for_a_moment_is_taken_at_the_next_merge(study):
    """It has the checksum again under which it was set aside."""
    place = study.send(W1, "alder", case("1"))
    before = place.read_bytes()
    study.merge(meanwhile=lambda: study.send(W1, "alder", case("1"), case("2")))
    place.write_bytes(before)
    write_ledger(study.folder, read_all_settings(study.folder))
    alder = next(s for s in status(study.folder).sites if s.site == "alder")
    assert alder.waiting == 1
    assert study.merge() == [("alder", W1)]
    assert became(study)["alder"] == ("merged", None)


def test_a_file_that_goes_away_while_it_is_read(study):
    place = study.send(W1, "alder", case("1"))
    study.merge(meanwhile=place.unlink)
    assert became(study) == {"alder": ("set_aside", GONE), "birch": ("merged", None)}


def test_a_file_that_becomes_a_link_while_it_is_read(study):
    place = study.send(W1, "alder", case("1"))

    def replace():
        place.rename(place.parents[3] / "elsewhere.csv")
        place.symlink_to(place.parents[3] / "elsewhere.csv")

    study.merge(meanwhile=replace)
    assert "symbolic link" in became(study)["alder"][1]


NAMES = {
    "a line break": b"series\nof\rcases.xlsx",
    "control characters": b"series\x1b[31m\x07.xlsx",
    "bytes that are no text": b"s\xe9rie \xff\xfe.xlsx",
    "text turned around": "series\u202exslx.xlsx".encode(),
    "a mark-up": b"<img src=x onerror=alert(1)>.xlsx",
    "a formula": b"=HYPERLINK(1).xlsx",
}


@pytest.fixture(scope="module")
def strangely_named(tmp_path_factory):
    """Good and bad files under each of the names, merged, and the outputs made of them."""
    study = make_study(tmp_path_factory.mktemp("names") / "study")
    wide = with_part("xl/sharedStrings.xml", lambda xml: xml.replace(b">air<", b">ether<"))
    for number, name in enumerate(NAMES.values()):
        for site, content in ((f"good{number}", wide), (f"bad{number}", b"no workbook")):
            study.add_centre(site)
            folder = study.folder.uploads / W1 / site
            folder.mkdir(parents=True)
            (folder / os.fsdecode(name)).write_bytes(content)
    study.merge()
    settings = read_all_settings(study.folder)
    build_outputs(study.folder, settings)
    write_ledger(study.folder, settings)
    return study


def test_strange_names_keep_no_file_from_being_merged_or_set_aside(strangely_named):
    outcomes = {site: outcome for site, (outcome, _) in became(strangely_named).items()}
    assert outcomes == {
        f"{kind}{number}": outcome
        for number in range(len(NAMES))
        for kind, outcome in (("good", "merged"), ("bad", "set_aside"))
    }


def test_strange_names_are_one_line_of_text_in_ledger_and_run(strangely_named):
    folder = strangely_named.folder
    ledger = json.loads(folder.ledger.read_text(encoding="utf-8"))
    run = json.loads((folder.out / "run.json").read_text(encoding="utf-8"))
    names = [entry["file_name"] for entry in ledger["uploads"]]
    names += [aside["file"] for site in run["sites"].values() for aside in site["set_aside"]]
    assert len(names) == 3 * len(NAMES)
    assert all(name.isprintable() for name in names)


def test_strange_names_are_text_on_pages_and_in_returns(strangely_named):
    written = [path for path in strangely_named.folder.out.rglob("*") if path.is_file()]
    returned = [path for path in written if path.name.endswith("_findings.xlsx")]
    assert len(returned) == len(NAMES)
    assert all(str(path).isprintable() for path in written)
    for page in (path for path in written if path.suffix == ".html"):
        text = page.read_text(encoding="utf-8")
        assert not {"\x1b", "\x07", "\u202e"} & set(text)
        assert "<img src=x" not in text


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_check_of_a_strange_name_is_told_in_one_line(study, name):
    alders(study).mkdir(parents=True)
    place = alders(study) / os.fsdecode(name)
    place.write_bytes(b"no workbook")
    with pytest.raises(StudyError) as refused:
        check(place, "alder", None)
    assert str(refused.value).isprintable()
    place.write_bytes(workbook())
    assert check(place, "alder", None).rows_read == 2
