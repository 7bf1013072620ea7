"""Codes are random, kept by keyed hash, and of no use to whoever has not the key."""

import json
import re
import stat

import pandas as pd
import pytest
from small_study import W1, case, make_study

from pipelines.errors import StudyError
from pipelines.linkage import Linkage, pseudonym_key
from transforms.deidentify import digest

KEY, OTHER_KEY = b"k" * 32, b"o" * 32


def digests(key=KEY, numbers=("1", "2")):
    """A frame as `identity_digests` makes it, of one operation for each number."""
    return pd.DataFrame(
        {
            kind: [digest(key, kind, "alder", number) for number in numbers]
            for kind in ("patient", "operation", "surgeon")
        }
    )


def test_the_same_person_has_the_same_code_the_next_week(tmp_path):
    first = dict(Linkage(tmp_path / "linkage.json", KEY).codes_for(digests()))
    again = dict(Linkage(tmp_path / "linkage.json", KEY).codes_for(digests()))
    assert again == first


def test_new_persons_change_no_code_of_others(tmp_path):
    first = dict(Linkage(tmp_path / "linkage.json", KEY).codes_for(digests()))
    more = Linkage(tmp_path / "linkage.json", KEY).codes_for(digests(numbers=("3", "2", "1")))
    assert {each: more[each] for each in first} == first
    assert len(set(more.values())) == 9


def test_codes_are_drawn_at_random_so_that_the_same_key_gives_others(tmp_path):
    one = Linkage(tmp_path / "one.json", KEY).codes_for(digests())
    two = Linkage(tmp_path / "two.json", KEY).codes_for(digests())
    assert one.keys() == two.keys()
    assert not set(one.values()) & set(two.values())


def test_a_code_tells_its_kind_and_can_be_no_word(tmp_path):
    """After the letter of the kind: no vowel, nothing that looks like another letter or digit."""
    frame = digests(numbers=[str(n) for n in range(200)])
    codes = Linkage(tmp_path / "linkage.json", KEY).codes_for(frame)
    for kind, letter in (("patient", "P"), ("operation", "O"), ("surgeon", "S")):
        for each in frame[kind]:
            assert re.fullmatch(letter + r"-[2-9B-DF-HJKMNP-TV-Z]{8}", codes[each])


def test_what_is_not_known_gets_no_code(tmp_path):
    frame = digests().assign(surgeon=pd.Series([None, None], dtype="str"))
    assert len(Linkage(tmp_path / "linkage.json", KEY).codes_for(frame)) == 4


def test_the_key_is_made_once_and_for_the_owner_alone(tmp_path):
    path = tmp_path / "store" / "pseudonym.key"
    key = pseudonym_key(path)
    assert len(key) == 32
    assert pseudonym_key(path) == key
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def test_two_studies_have_two_keys(tmp_path):
    assert pseudonym_key(tmp_path / "one.key") != pseudonym_key(tmp_path / "two.key")


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660, 0o610])
def test_a_key_that_others_can_reach_is_refused(tmp_path, mode):
    path = tmp_path / "pseudonym.key"
    pseudonym_key(path)
    path.chmod(mode)
    with pytest.raises(StudyError) as refused:
        pseudonym_key(path)
    assert str(refused.value) == f"{path}: others can read the key; run chmod 600 on it"


@pytest.mark.parametrize("text", ["", "not hexadecimal", "ab"])
def test_a_damaged_key_is_refused_with_the_file_and_without_its_text(tmp_path, text):
    path = tmp_path / "pseudonym.key"
    path.write_text(text, encoding="ascii")
    path.chmod(0o600)
    with pytest.raises(StudyError, match=re.escape(str(path))) as refused:
        pseudonym_key(path)
    assert not text or text not in str(refused.value).removeprefix(str(path))


def test_another_key_is_refused_and_nothing_is_written(tmp_path):
    path = tmp_path / "linkage.json"
    Linkage(path, KEY).codes_for(digests())
    before = path.read_bytes()
    with pytest.raises(StudyError) as refused:
        Linkage(path, OTHER_KEY)
    assert str(refused.value) == (
        f"{path}: made with another key than {tmp_path / 'pseudonym.key'}; put the right key back"
    )
    assert path.read_bytes() == before


def test_a_damaged_linkage_is_refused_with_the_file(tmp_path):
    path = tmp_path / "linkage.json"
    path.write_text('{"key_check": ', encoding="ascii")
    with pytest.raises(StudyError, match=re.escape(str(path))):
        Linkage(path, KEY)


def test_the_file_holds_digests_and_codes_alone_for_the_owner_alone(tmp_path):
    path = tmp_path / "linkage.json"
    Linkage(path, KEY).codes_for(digests())
    content = json.loads(path.read_text(encoding="ascii"))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert content.keys() == {"key_check", "codes"}
    assert all(re.fullmatch("[0-9a-f]{64}", each) for each in content["codes"])


def test_the_linkage_of_a_merge_holds_no_record_number_and_no_name(tmp_path):
    study = make_study(tmp_path / "study")
    study.send(W1, "alder", case("QX-77120-Z", Surgeon="Dr. Vellumcrest"))
    study.merge()
    text = study.folder.linkage.read_text(encoding="ascii").casefold()
    assert len(json.loads(text)["codes"]) == 3
    for secret in ("qx-77120-z", "77120", "vellumcrest", "alder"):
        assert secret not in text


def test_a_lost_key_is_not_made_anew_beside_a_linkage_that_needs_it(tmp_path):
    """A new key beside the old linkage would look as if it were the right one."""
    study = make_study(tmp_path / "study")
    study.send(W1, "alder", case("1"))
    study.merge()
    study.folder.key.unlink()
    with pytest.raises(StudyError):
        study.merge()
    assert not study.folder.key.exists()
