"""Reading settings from TOML so that every mistake is told with file, line and mend."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

PathStep = str | int
_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[\w-]+)\s*=""")


class SettingsError(Exception):
    """A mistake in study.toml or a crosswalk, told in one line with file, line and mend."""


class Settings(BaseModel):
    """Base of every settings model: frozen, and no key beside the declared ones."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Model = TypeVar("Model", bound=Settings)


def line_of(text: str, path: Sequence[PathStep]) -> int:
    """1-based line of `text` (TOML) where the setting at `path` stands, or its nearest parent.

    Follows headers and keys at the start of lines, which is how these files are written; a key
    inside an inline table is found by the line of the table. `fields` may be on the path and not
    in the text, where blocks name their fields beside their own keys, or the other way round.
    """
    inline = [step for step in path if step != "fields"]
    nested = [*path[:-1], "fields", *path[-1:]]
    return max(_locate(text, wanted) for wanted in (list(path), inline, nested))[1]


def _locate(text: str, wanted: list[PathStep]) -> tuple[int, int]:
    """How many steps of the path were found, and the line of the last of them."""
    counts: dict[tuple[PathStep, ...], int] = {}
    here: list[PathStep] = []
    best, best_depth = 1, 0
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            here = _resolve(header[2], is_array=header[1] == "[[", counts=counts)
            candidate = here
        elif key := _KEY.match(line):
            candidate = [*here, key[1].strip("\"'")]
        else:
            continue
        if candidate == wanted[: len(candidate)] and len(candidate) > best_depth:
            best, best_depth = number, len(candidate)
    return best_depth, best


def _resolve(
    dotted: str, *, is_array: bool, counts: dict[tuple[PathStep, ...], int]
) -> list[PathStep]:
    """The path of a table header, with the running index of each array of tables on it."""
    names = [part.strip().strip("\"'") for part in dotted.split(".")]
    path: list[PathStep] = []
    for depth, name in enumerate(names):
        path.append(name)
        key = tuple(path)
        if depth == len(names) - 1 and is_array:
            counts[key] = counts.get(key, -1) + 1
        if key in counts:
            path.append(counts[key])
    return path


def nearest(word: str, known: Sequence[str]) -> str:
    """' (did you mean ...?)' for the closest known word, or nothing."""
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    return f" (did you mean '{close[0]}'?)" if close else ""


def _place(error: dict[str, object]) -> tuple[PathStep, ...]:
    """Path of the mistake; a message that begins with a quoted key speaks of that key."""
    path: tuple[PathStep, ...] = error["loc"]  # type: ignore[assignment]
    named = re.match(r"Value error, '([^']+)'", str(error["msg"]))
    return (*path, named[1]) if named else path


def _mend(error: dict[str, object], model: type[BaseModel]) -> str:
    name = next((str(step) for step in reversed(_place(error)) if isinstance(step, str)), "")
    if error["type"] == "extra_forbidden":
        known = sorted(_all_keys(model))
        return f"unknown key '{name}'{nearest(name, known)}; remove it or correct its name"
    if error["type"] == "missing":
        return f"'{name}' is missing; add it"
    message = str(error["msg"]).removeprefix("Value error, ")
    return message if message.startswith("'") or not name else f"'{name}': {message}"


def _all_keys(model: type[BaseModel]) -> set[str]:
    keys: set[str] = set()
    for name, info in model.model_fields.items():
        keys.add(info.alias or name)
        for inner in _models_in(info.annotation):
            keys |= _all_keys(inner)
    return keys


def _models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in _models_in(part)]


def read_settings(path: Path, model: type[Model]) -> Model:
    """The settings in the TOML file at `path`.

    Raises SettingsError: one line for each mistake, with the file, the line and the mend.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise SettingsError(f"{path}: there is no such file; create it, see the README") from None
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path}: cannot be read ({type(error).__name__})") from None
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path}: not valid TOML: {error}") from None
    try:
        return model.model_validate(content)
    except ValidationError as error:
        lines = [
            f"{path}, line {line_of(text, _place(dict(problem)))}: {_mend(dict(problem), model)}"
            for problem in error.errors()
        ]
        raise SettingsError("\n".join(lines)) from None
