"""The digest of the program's sources: any of them that changes changes it."""

import shutil
from pathlib import Path

import pytest

import schemas
from pipelines import versions
from pipelines.versions import source_digest

ORIGINAL = source_digest("schemas")


@pytest.fixture
def copied(tmp_path, monkeypatch):
    """A copy of the package `schemas`, which the digest is made of."""
    folder = tmp_path / "schemas"
    shutil.copytree(Path(schemas.__file__).parent, folder)
    monkeypatch.setattr(versions, "_folder", lambda package: folder)
    source_digest.cache_clear()
    yield folder
    source_digest.cache_clear()


def test_a_copy_has_the_digest_of_its_original(copied):
    assert source_digest("schemas") == ORIGINAL


@pytest.mark.parametrize(
    "changed",
    ["units.py", "vocabularies/missing.toml", "conventions/hole_size.toml", "languages/de.po"],
)
def test_a_changed_file_changes_it(copied, changed):
    before = source_digest("schemas")
    source_digest.cache_clear()
    with (copied / changed).open("a", encoding="utf-8") as file:
        file.write("\n# another line\n")
    assert source_digest("schemas") != before
