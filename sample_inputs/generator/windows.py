"""The study's windows, as study.toml and the codebook have them."""

from __future__ import annotations

WINDOWS = {
    "baseline": (-90, 0), "m1": (14, 59), "m3": (60, 135), "m6": (136, 270), "m12": (271, 545),
}  # fmt: skip


def window_of(day: int) -> str:
    """The window of a visit so many days after the operation."""
    inside = (name for name, (start, end) in WINDOWS.items() if start <= day <= end)
    return next(inside, "unscheduled")
