"""Drafts of the seven sample centres, beside the crosswalks that are right for them."""

import datetime as dt
import tomllib

import pytest
from crosswalk_entries import compared
from merged_sample import SAMPLE

from schemas.crosswalk import read_crosswalk
from schemas.study import read_study
from transforms.draft import draft, toml_of
from transforms.reading import UnreadableUpload, read_workbook

STUDY = read_study(SAMPLE)
LATEST = dt.date(2026, 11, 22)
WEEKS = ("2026-W46", "2026-W47")
# Of the entries that a draft proposes rightly, as lines that stand or as comments, and of those
# that stand: a sign, a scale of letters or an amplitude's area that no file says is left to people.
LEAST_PROPOSED, LEAST_STANDING = 0.85, 0.75


def files_of(site, week):
    return sorted((SAMPLE / "uploads" / week / site).iterdir())


def drafted(paths, site):
    books = {path.name: read_workbook(path.name, path.read_bytes()) for path in paths}
    return draft(books, site, STUDY.visits, None, LATEST)


DAMAGED = [("sanderling", "2026-W47")]


@pytest.mark.parametrize(
    ("site", "week"),
    [(s, w) for s in STUDY.sites for w in WEEKS if (s, w) not in DAMAGED],
)
def test_most_entries_of_a_sample_centres_crosswalk_are_proposed_and_none_wrongly(site, week):
    paths = files_of(site, week)
    found = compared(drafted(paths, site), read_crosswalk(SAMPLE, STUDY, site))
    standing, proposed = found.share(found.standing), found.share(found.proposed)
    figure = f"{standing:.0%} of {len(found.expected)} entries, {proposed:.0%} with its comments"
    print(f"\ndraft {site} {week}: {figure}, {len(found.wrong)} wrong")  # noqa: T201  asked for
    assert found.wrong == set()
    assert proposed >= LEAST_PROPOSED
    assert standing >= LEAST_STANDING


@pytest.mark.parametrize(("site", "week"), DAMAGED)
def test_an_upload_that_is_planted_as_damaged_gets_no_draft(site, week):
    with pytest.raises(UnreadableUpload):
        drafted(files_of(site, week), site)


@pytest.mark.parametrize("site", STUDY.sites)
def test_the_centres_language_dates_and_decimal_mark_are_found(site):
    read = tomllib.loads(toml_of(drafted(files_of(site, WEEKS[0]), site)))
    right = read_crosswalk(SAMPLE, STUDY, site)
    assert (read["language"], read["dates"], read["decimal"]) == (
        right.language, right.dates, right.decimal,
    )  # fmt: skip
