"""Forest plot of proportions as SVG text: one row an estimate, squares sized by eyes.

It is drawn in two layouts, because text that scales with the picture is too small on a phone: one
with the labels beside the plot, one with the labels above it. The page shows one of the two.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

import pandas as pd

from reports.numerals import as_number, as_whole, count, is_missing, percent
from reports.rows import records

COLUMNS = ("label", "eyes", "events", "estimate", "ci_low", "ci_high", "masked", "is_pooled")
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
LINE = 17.0
ROW_GAP = 10.0
BELOW = 22.0
HEAD = 26.0
AXIS = 44.0
LARGEST_SQUARE = 15.0
SMALLEST_SQUARE = 4.0
# A white edge keeps a label readable where the grid runs behind it.
HALO = ' paint-order="stroke" stroke="#fff" stroke-width="3"'


@dataclass(frozen=True)
class Layout:
    """Where things stand, in units of the viewBox; `plot` is the x of 0 and of 100 per cent."""

    name: str
    width: float
    font_size: float
    label_characters: int
    labels_above: bool
    plot: tuple[float, float]
    fraction_end: float
    percent_end: float

    def x(self, share: float) -> float:
        """Position of a share between 0 and 1."""
        left, right = self.plot
        return left + share * (right - left)


WIDE = Layout("wide", 780, 14, 34, False, (272, 536), 614, 776)
NARROW = Layout("narrow", 360, 12.5, 50, True, (8, 168), 226, 358)
LAYOUTS = (WIDE, NARROW)


@dataclass(frozen=True)
class _Row:
    """One row of the plot, with the height it starts at and the height of its mark."""

    label: list[str]
    fraction: str
    interval: str
    estimate: float | None
    low: float | None
    high: float | None
    eyes: int
    is_pooled: bool
    top: float
    middle: float
    bottom: float


def forest(
    rows: pd.DataFrame,
    layout: Layout,
    *,
    figure_id: str,
    title: str,
    description: str,
    heading: str,
) -> str:
    """The plot of `rows` (columns `COLUMNS`, proportions between 0 and 1) as an SVG element.

    `figure_id` must be unique on the page; `heading` stands over the labels. A row whose estimate
    is missing keeps its label and says why it has no mark.
    """
    placed = list(_place(rows, layout))
    bottom = placed[-1].bottom if placed else HEAD
    largest = max((row.eyes for row in placed if not row.is_pooled), default=0)
    name = f"{figure_id}-{layout.name}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{layout.name}" role="img" '
        f'viewBox="0 0 {_n(layout.width)} {_n(bottom + AXIS)}" '
        f'aria-labelledby="{name}-title {name}-desc" font-size="{_n(layout.font_size)}" '
        'fill="currentColor">',
        f'<title id="{name}-title">{escape(title)}</title>',
        f'<desc id="{name}-desc">{escape(description)}</desc>',
        *_frame(layout, bottom, heading),
        *_pooled_line(placed, layout, bottom),
    ]
    for row in placed:
        parts += [*_texts(row, layout), *_mark(row, layout, largest)]
    return "\n".join([*parts, "</svg>"])


def _place(rows: pd.DataFrame, layout: Layout) -> Iterator[_Row]:
    top = HEAD
    for row in records(rows[list(COLUMNS)]):
        label = textwrap.wrap(str(row["label"]), layout.label_characters) or [""]
        label_height = LINE * len(label)
        height = (label_height + BELOW if layout.labels_above else label_height) + ROW_GAP
        middle = top + (label_height + BELOW / 2 if layout.labels_above else label_height / 2)
        yield _Row(
            label=label,
            fraction=_fraction(row["events"], row["eyes"], row["masked"]),
            interval=_interval(row["estimate"], row["ci_low"], row["ci_high"]),
            estimate=as_number(row["estimate"]),
            low=as_number(row["ci_low"]),
            high=as_number(row["ci_high"]),
            eyes=as_whole(row["eyes"]) or 0,
            is_pooled=bool(row["is_pooled"]),
            top=top,
            middle=middle + ROW_GAP / 2,
            bottom=top + height,
        )
        top += height


def _fraction(events: float | None, eyes: float | None, masked: bool) -> str:
    if masked:
        return "masked"
    if is_missing(eyes) or not eyes:
        return "no eyes"
    return f"{count(events)}/{count(eyes)}"


def _interval(estimate: float | None, low: float | None, high: float | None) -> str:
    if is_missing(estimate):
        return ""
    bounds = "" if is_missing(low) else f" [{percent(low)}, {percent(high)}]"
    return f"{percent(estimate)}{bounds}"


def _frame(layout: Layout, bottom: float, heading: str) -> list[str]:
    """Headings of the columns, the axis and its grid."""
    left, right = layout.plot
    parts = [
        _text(0, HEAD - 10, heading, weight=600),
        _text(layout.fraction_end, HEAD - 10, "n/N", anchor="end", weight=600),
        _text(layout.percent_end, HEAD - 10, "% [95% CI]", anchor="end", weight=600),
        _line(0, HEAD - 2, layout.width, HEAD - 2, 'stroke="currentColor" stroke-width="1"'),
    ]
    for tick in TICKS:
        at = layout.x(tick)
        parts += [
            _line(at, HEAD - 2, at, bottom, 'stroke="#d5dade" stroke-width="1"'),
            _line(at, bottom, at, bottom + 5, 'stroke="currentColor" stroke-width="1"'),
            _text(at, bottom + 19, f"{tick * 100:.0f}", anchor="middle"),
        ]
    parts += [
        _line(left, bottom, right, bottom, 'stroke="currentColor" stroke-width="1"'),
        _text((left + right) / 2, bottom + 37, "per cent closed", anchor="middle"),
    ]
    return parts


def _pooled_line(placed: list[_Row], layout: Layout, bottom: float) -> list[str]:
    pooled = [row.estimate for row in placed if row.is_pooled and row.estimate is not None]
    dashes = 'stroke="#56606a" stroke-width="1" stroke-dasharray="3 3"'
    return [_line(layout.x(at), HEAD - 2, layout.x(at), bottom, dashes) for at in pooled]


def _texts(row: _Row, layout: Layout) -> list[str]:
    weight = 600 if row.is_pooled else 400
    first = row.top + ROW_GAP / 2 + LINE * 0.75
    baseline = row.middle + LINE * 0.25
    texts = [
        _text(0, first + LINE * place, line, weight=weight, look=HALO)
        for place, line in enumerate(row.label)
    ]
    texts.append(_text(layout.fraction_end, baseline, row.fraction, anchor="end", weight=weight))
    if row.interval:
        texts.append(_text(layout.percent_end, baseline, row.interval, anchor="end", weight=weight))
    if row.is_pooled:
        rule = 'stroke="currentColor" stroke-width="1"'
        texts.append(_line(0, row.top, layout.width, row.top, rule))
    return texts


def _mark(row: _Row, layout: Layout, largest: int) -> list[str]:
    """Whisker and square of a row; a diamond over the interval for the pooled row."""
    if row.estimate is None or row.low is None or row.high is None:
        return []
    low, at, high, y = layout.x(row.low), layout.x(row.estimate), layout.x(row.high), row.middle
    if row.is_pooled:
        corners = ((low, y), (at, y - 7), (high, y), (at, y + 7))
        points = " ".join(f"{_n(across)},{_n(down)}" for across, down in corners)
        return [f'<polygon class="pooled" points="{points}" fill="#145a7c"/>']
    side = _side(row.eyes, largest)
    return [
        _line(low, y, high, y, 'class="whisker" stroke="currentColor" stroke-width="1.5"'),
        f'<rect class="estimate" x="{_n(at - side / 2)}" y="{_n(y - side / 2)}" '
        f'width="{_n(side)}" height="{_n(side)}" fill="#145a7c"/>',
    ]


def _side(eyes: int, largest: int) -> float:
    """Side of a square whose area goes with the number of eyes."""
    return max(SMALLEST_SQUARE, LARGEST_SQUARE * math.sqrt(eyes / largest)) if largest else 0.0


def _text(
    x: float, y: float, words: str, *, anchor: str = "start", weight: int = 400, look: str = ""
) -> str:
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}" font-weight="{weight}"{look}>'
        f"{escape(words)}</text>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, look: str) -> str:
    return f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" {look}/>'


def _n(value: float) -> str:
    """A coordinate with two digits, the same on every machine."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
