"""Settings of a study, read from study.toml."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, field_validator, model_validator

from schemas.conventions import OFF_CHART_SETS, SIZE_SCHEMES
from schemas.settings_file import Settings, SettingsError, nearest, read_settings
from schemas.visit_names import BASELINE, UNSCHEDULED

SITE_CODE = re.compile(r"[a-z][a-z0-9_]{0,31}")


def _is_site_code(code: str) -> str:
    if not SITE_CODE.fullmatch(code):
        raise ValueError("a centre's code is lower-case letters, digits and _, from a letter on")
    return code


SiteCode = Annotated[str, AfterValidator(_is_site_code)]


class StudyHeader(Settings):
    """Name of the study and the codes of its centres."""

    name: str = Field(min_length=1)
    sites: tuple[SiteCode, ...] = Field(min_length=1)

    @field_validator("sites")
    @classmethod
    def _each_once(cls, sites: tuple[str, ...]) -> tuple[str, ...]:
        if doubled := sorted({site for site in sites if sites.count(site) > 1}):
            raise ValueError(f"{', '.join(doubled)} named twice; name each centre once")
        return sites


class ClosureSettings(Settings):
    """The window that decides primary closure."""

    primary: str


def _known_in(known: Collection[str]) -> AfterValidator:
    """Accepts the names of a versioned convention, and names the nearest where it is none."""

    def check(name: str) -> str:
        if name not in known:
            hint = nearest(name, tuple(known))
            raise ValueError(f"unknown set '{name}'{hint}; one of {', '.join(known)}")
        return name

    return AfterValidator(check)


class AcuitySettings(Settings):
    """The named set of logMAR values for acuities off the chart."""

    off_chart: Annotated[str, _known_in(OFF_CHART_SETS)] = "measured_2009"


class HoleSettings(Settings):
    """The size scheme by which tables are grouped."""

    size_classes: Annotated[str, _known_in(SIZE_SCHEMES)] = "ivts_2013"


class DisclosureSettings(Settings):
    """Which counts are masked, and where ages are cut off."""

    smallest_cell: int = Field(default=5, ge=0, le=100)
    internal_cell: int = Field(default=0, ge=0, le=100)
    age_top: int = Field(default=90, ge=50, le=90)


class Study(Settings):
    """study.toml. A window is (from, target, to), in days after the operation."""

    study: StudyHeader
    visits: dict[str, tuple[int, int, int]]
    closure: ClosureSettings
    acuity: AcuitySettings = AcuitySettings()
    hole: HoleSettings = HoleSettings()
    disclosure: DisclosureSettings = DisclosureSettings()

    @field_validator("visits")
    @classmethod
    def _windows(cls, visits: dict[str, tuple[int, int, int]]) -> dict[str, tuple[int, int, int]]:
        previous_name, previous_end = "the operation", 0
        for name, (start, target, end) in sorted(visits.items(), key=lambda item: item[1]):
            if name in (BASELINE, UNSCHEDULED) or not re.fullmatch(r"[a-z][a-z0-9_]*", name):
                raise ValueError(f"'{name}' cannot name a window; use a name like m3")
            if not start <= target <= end:
                raise ValueError(
                    f"window '{name}': {target} lies outside {start} to {end}; "
                    "write [from, target, to]"
                )
            if start <= previous_end:
                raise ValueError(
                    f"window '{name}' begins on day {start}, on or before the end of "
                    f"{previous_name} (day {previous_end}); let each begin after the one before"
                )
            previous_name, previous_end = f"window '{name}'", end
        return dict(sorted(visits.items(), key=lambda item: item[1]))

    @model_validator(mode="after")
    def _primary_is_a_window(self) -> Study:
        if self.closure.primary not in self.visits:
            hint = nearest(self.closure.primary, tuple(self.visits))
            raise ValueError(
                f"closure.primary names '{self.closure.primary}', which is no window of "
                f"[visits]{hint}; name one of {', '.join(self.visits)}"
            )
        return self

    @property
    def sites(self) -> tuple[str, ...]:
        return self.study.sites

    @property
    def size_column(self) -> Literal["hole_size_class", "hole_size_band"]:
        return "hole_size_class" if self.hole.size_classes == "ivts_2013" else "hole_size_band"


def read_study(folder: Path) -> Study:
    """The settings of the study in `folder`. Raises SettingsError."""
    if not folder.is_dir():
        raise SettingsError(f"{folder}: there is no such folder; name the folder of study.toml")
    return read_settings(folder / "study.toml", Study)
