"""The key of the pseudonyms, and the linkage from keyed hash to random code.

The linkage holds no record number: only HMAC-SHA256 digests beside codes that are drawn at random
(45 CFR 164.514(c); GDPR article 4(5)). Whoever destroys it unlinks the store for good.
"""

from __future__ import annotations

import json
import re
import secrets
import stat
from pathlib import Path

import pandas as pd

from pipelines.atomic import write_whole
from pipelines.errors import StudyError
from pipelines.study_folder import LINKAGE_NAME
from transforms.deidentify import digest

KEY_BYTES = 32
_KEY_FORM = re.compile(rb"[0-9a-f]{64}")
PRIVATE = 0o600

# No vowels, so that no code is a word; no 0, 1 or similar, so that codes can be read aloud.
ALPHABET = "23456789BCDFGHJKMNPQRSTVWXZ"
CODE_LENGTH = 8
_PREFIX = {"patient": "P", "operation": "O", "surgeon": "S"}
_KEY_CHECK = "foveapool pseudonym key"


def pseudonym_key(path: Path) -> bytes:
    """The study's key, made on first use.

    Raises StudyError where others could read it, where it is damaged, or where it is gone but a
    linkage beside it was made with it.
    """
    if not path.exists():
        if path.with_name(LINKAGE_NAME).exists():
            raise StudyError(
                f"{path}: the key is gone, and {LINKAGE_NAME} beside it needs it; put it back"
            )
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(path, secrets.token_hex(KEY_BYTES).encode(), PRIVATE)
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise StudyError(f"{path}: others can read the key; run chmod 600 on it")
    text = path.read_bytes().strip()
    if not _KEY_FORM.fullmatch(text):
        raise StudyError(f"{path}: damaged; put the study's key back from its backup")
    return bytes.fromhex(text.decode())


class Linkage:
    """Random codes of a study's patients, operations and surgeons, by digest."""

    def __init__(self, path: Path, key: bytes) -> None:
        """Reads the linkage. Raises StudyError where it was made with another key."""
        self._path = path
        self._check = digest(key, _KEY_CHECK)
        self._codes: dict[str, str] = {}
        if not path.exists():
            return
        try:
            content = json.loads(path.read_text(encoding="utf-8"))
            self._codes = dict(content["codes"])
        except (ValueError, KeyError, TypeError):
            raise StudyError(f"{path}: damaged; put it back from its backup") from None
        if content.get("key_check") != self._check:
            raise StudyError(
                f"{path}: made with another key than {path.with_name('pseudonym.key')}; "
                "put the right key back"
            )

    def codes_for(self, digests: pd.DataFrame) -> dict[str, str]:
        """Code of every digest in a frame with one column a kind; new ones are drawn and saved."""
        taken = set(self._codes.values())
        drawn = 0
        for kind, column in digests.items():
            for each in column.dropna().unique():
                if each not in self._codes:
                    code = _draw(str(kind), taken)
                    taken.add(code)
                    self._codes[each] = code
                    drawn += 1
        if drawn:
            self._save()
        return self._codes

    def _save(self) -> None:
        content = {"key_check": self._check, "codes": dict(sorted(self._codes.items()))}
        write_whole(self._path, json.dumps(content, indent=0).encode(), PRIVATE)


def _draw(kind: str, taken: set[str]) -> str:
    while True:
        code = _PREFIX[kind] + "-" + "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        if code not in taken:
            return code
