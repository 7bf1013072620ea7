"""The key of the pseudonyms, and the linkage from keyed hash to random code.

The linkage holds no record number: only HMAC-SHA256 digests beside codes that are drawn at random
(45 CFR 164.514(c); GDPR article 4(5)). Whoever destroys it unlinks the store for good.
"""

from __future__ import annotations

import json
import secrets
import stat
from pathlib import Path

import pandas as pd

from pipelines.atomic import write_whole
from pipelines.errors import StudyError
from transforms.deidentify import digest

KEY_BYTES = 32
PRIVATE = 0o600

# No vowels, so that no code is a word; no 0, 1 or similar, so that codes can be read aloud.
ALPHABET = "23456789BCDFGHJKMNPQRSTVWXZ"
CODE_LENGTH = 8
_PREFIX = {"patient": "P", "operation": "O", "surgeon": "S"}
_KEY_CHECK = "foveapool pseudonym key"


def pseudonym_key(path: Path) -> bytes:
    """The study's key, made on first use. Raises StudyError where others could read it."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(path, secrets.token_hex(KEY_BYTES).encode(), PRIVATE)
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise StudyError(f"{path}: others can read the key; run chmod 600 on it")
    return bytes.fromhex(path.read_text(encoding="ascii").strip())


class Linkage:
    """Random codes of a study's patients, operations and surgeons, by digest."""

    def __init__(self, path: Path, key: bytes) -> None:
        """Reads the linkage. Raises StudyError where it was made with another key."""
        self._path = path
        self._check = digest(key, _KEY_CHECK)
        self._codes: dict[str, str] = {}
        if not path.exists():
            return
        content = json.loads(path.read_text(encoding="utf-8"))
        if content["key_check"] != self._check:
            raise StudyError(
                f"{path}: made with another key than {path.with_name('pseudonym.key')}; "
                "put the right key back"
            )
        self._codes = content["codes"]

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
