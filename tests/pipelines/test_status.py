"""Which centre has sent what, what is late, what is open."""

import pytest
from small_study import W1, W2, case, make_study

from pipelines.errors import StudyError
from pipelines.ledger import write_ledger
from pipelines.plan import read_all_settings
from pipelines.status import status


@pytest.fixture
def study(tmp_path):
    return make_study(tmp_path / "study")


def merge(study):
    study.merge()
    write_ledger(study.folder, read_all_settings(study.folder))


def of_site(study, site):
    return next(each for each in status(study.folder).sites if each.site == site)


def test_a_study_that_was_never_merged(study):
    study.send(W1, "alder", case("1"))
    now = status(study.folder)
    assert now.week is None
    assert [(s.site, s.last_good_week, s.is_late, s.waiting) for s in now.sites] == [
        ("birch", None, False, 0), ("alder", None, False, 1),
    ]  # fmt: skip
    assert now.next_step == "run foveapool merge: files are waiting"


def test_status_writes_nothing(study):
    study.send(W1, "alder", case("1"))
    status(study.folder)
    assert not study.folder.store.exists()


def test_all_is_well(study):
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("1"))
    merge(study)
    now = status(study.folder)
    assert now.week == W1
    assert [(s.title, s.last_good_week, s.is_late, s.waiting) for s in now.sites] == [
        ("Birchmoor Eye Clinic", W1, False, 0), ("Aldermere Eye Unit", W1, False, 0),
    ]  # fmt: skip
    assert now.next_step == "nothing"


def test_a_centre_that_sent_nothing_is_late(study):
    study.send(W1, "birch", case("1"))
    study.send(W1, "alder", case("1"))
    study.send(W2, "alder", case("1"))
    merge(study)
    assert (of_site(study, "birch").is_late, of_site(study, "birch").last_good_week) == (True, W1)
    assert not of_site(study, "alder").is_late
    assert status(study.folder).next_step == f"remind birch: nothing came for {W2}"


def test_a_file_set_aside_is_told_with_its_reason(study):
    study.send(W1, "birch", case("1"))
    study.send_broken(W1, "alder")
    merge(study)
    (told,) = of_site(study, "alder").set_aside
    assert told.startswith("series.xlsx: ")
    assert of_site(study, "birch").set_aside == ()
    assert status(study.folder).next_step == "ask alder for a file that can be read"


@pytest.mark.parametrize("replaced", [True, False], ids=["replaced", "a second file"])
def test_a_file_that_no_merge_has_taken_is_waiting(study, replaced):
    study.send(W1, "alder", case("1"))
    study.send(W1, "birch", case("1"))
    merge(study)
    study.send(W1, "alder", case("1", MLD="650"), name="series.csv" if replaced else "more.csv")
    assert of_site(study, "alder").waiting == 1
    assert of_site(study, "birch").waiting == 0


def test_open_findings_are_counted_by_what_was_done(study):
    study.send(W1, "alder", case("1", MLD="wide", Graft=""), case("2", Date="soon"))
    study.send(W1, "birch", case("1"))
    merge(study)
    assert of_site(study, "alder").open_findings == {"ask": 1, "blank": 1, "hold": 1}
    assert of_site(study, "birch").open_findings == {}
    assert status(study.folder).next_step == "send each centre its folder in out/returns"


def test_mended_findings_are_not_counted(study):
    study.send(W1, "alder", case("1", MLD="wide"))
    study.send(W2, "alder", case("1"))
    merge(study)
    assert of_site(study, "alder").open_findings == {}


def test_a_late_file_is_told_as_set_aside(study):
    study.send(W2, "birch", case("1"))
    study.send(W2, "alder", case("1"))
    merge(study)
    study.send(W1, "birch", case("1"))
    merge(study)
    (told,) = of_site(study, "birch").set_aside
    assert "arrived after a later week was merged" in told


@pytest.mark.parametrize(
    "text", ["", '{"week": ', '{"week": "2026-W10"}', "[]", "{}", '"a"', '{"weak": 1}']
)
def test_a_damaged_ledger_is_told_with_the_mend(study, text):
    study.folder.store.mkdir()
    study.folder.ledger.write_text(text, encoding="utf-8")
    with pytest.raises(StudyError) as refused:
        status(study.folder)
    assert str(refused.value) == (
        f"{study.folder.ledger}: damaged; run foveapool merge, which writes it anew"
    )


def test_the_ledger_names_no_patient(study):
    study.send(W1, "alder", case("QX-77120-Z", Surgeon="Dr. Vellumcrest", MLD="wide"))
    merge(study)
    text = study.folder.ledger.read_text(encoding="utf-8").casefold()
    assert "77120" not in text
    assert "vellumcrest" not in text
