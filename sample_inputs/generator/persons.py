"""Invented persons: every name, number and address is made up of parts that no one carries."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

_FAMILY = tuple(
    first + last
    for last in ("wissel", "moorlan", "thraxen", "quelby", "drosken", "favrel", "zempter", "ulvane",
                 "ondwick")
    for first in ("Bru", "Oste", "Kel", "Thri", "Vel", "Hasp", "Mor", "Pyl", "Gren", "Zan", "Ulf",
                  "Wex", "Drab", "Ske", "Jop", "Fenn", "Quill", "Tarv", "Ibb", "Crowt", "Snod",
                  "Larv", "Yst", "Nebb")
)  # fmt: skip
_GIVEN = (
    "Ambrelle", "Corvin", "Thessaly", "Ordwin", "Jacanthe", "Melchora", "Bertrune", "Sylvadine",
    "Wendrick", "Ottoline", "Perriman", "Isaveth", "Lorcaster", "Quenby", "Hesprine", "Tolvar",
    "Ranwulf", "Ysmene", "Dorvalle", "Emmerand",
)  # fmt: skip


@dataclass(frozen=True)
class Person:
    """One invented patient of one centre."""

    number: str
    given: str
    family: str
    born: date
    sex: str
    phone: str
    email: str

    @property
    def name(self) -> str:
        return f"{self.family}, {self.given}"


def draw_persons(
    rng: random.Random, numbers: Iterator[str], phone: str, offset: int
) -> Iterator[Person]:
    """Persons without end. `phone` is a pattern with one place for four digits; `offset` gives
    each centre its own stretch of family names, so that no two persons share one."""
    for place, number in enumerate(numbers):
        family = _FAMILY[(offset + place) % len(_FAMILY)]
        given = rng.choice(_GIVEN)
        born = date(rng.randint(1932, 1975), rng.randint(1, 12), rng.randint(1, 28))
        digits = rng.randint(1000, 9999)
        yield Person(
            number, given, family, born, rng.choice(("female", "male")), phone.format(digits),
            f"{given.lower()}.{family.lower()}{offset + place}@mailbox.invalid",
        )  # fmt: skip
