"""The forest plot: where marks stand, what is written beside them, what is left out."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from itertools import pairwise

import pandas as pd
import pytest

from reports.figures.forest import COLUMNS, LARGEST_SQUARE, LAYOUTS, NARROW, WIDE, Layout, forest

SVG = "{http://www.w3.org/2000/svg}"

#     label            eyes events share low  high  masked pooled
ROWS = [
    ("Alder & Sons",    40,  30,   0.75, 0.60, 0.86, False, False),
    ("Birch",           10,   5,   0.50, 0.24, 0.76, False, False),
    ("All eyes",        50,  35,   0.70, 0.56, 0.81, False, True),
]  # fmt: skip


def draw(rows: list[tuple[object, ...]], layout: Layout = WIDE) -> ET.Element:
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    return ET.fromstring(
        forest(
            frame, layout, figure_id="f", title="Closure", description="By centre",
            heading="Centre",
        )
    )  # fmt: skip


def number(element: ET.Element, name: str) -> float:
    return float(element.attrib[name])


def squares(figure: ET.Element) -> list[ET.Element]:
    return [rect for rect in figure.iter(f"{SVG}rect") if rect.get("class") == "estimate"]


def texts(figure: ET.Element) -> list[str]:
    return [element.text or "" for element in figure.iter(f"{SVG}text")]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_squares_and_whiskers_stand_at_their_shares(layout: Layout):
    figure = draw(ROWS, layout)
    left, right = layout.plot
    whiskers = [line for line in figure.iter(f"{SVG}line") if line.get("class") == "whisker"]
    for row, square, whisker in zip(ROWS[:2], squares(figure), whiskers, strict=True):
        _, _, _, share, low, high, _, _ = row
        middle = number(square, "x") + number(square, "width") / 2
        assert (middle - left) / (right - left) == pytest.approx(share, abs=1e-3)
        assert (number(whisker, "x1") - left) / (right - left) == pytest.approx(low, abs=1e-3)
        assert (number(whisker, "x2") - left) / (right - left) == pytest.approx(high, abs=1e-3)
        level = number(square, "y") + number(square, "height") / 2
        assert number(whisker, "y1") == number(whisker, "y2") == pytest.approx(level, abs=0.02)


def test_the_area_of_a_square_goes_with_the_eyes():
    large, small = (number(square, "width") for square in squares(draw(ROWS)))
    assert large == LARGEST_SQUARE
    assert small == pytest.approx(LARGEST_SQUARE * math.sqrt(10 / 40), abs=0.01)


def test_the_pooled_row_is_a_diamond_over_its_interval():
    (diamond,) = draw(ROWS).iter(f"{SVG}polygon")
    across = [float(point.split(",")[0]) for point in diamond.attrib["points"].split()]
    assert across == pytest.approx(
        [WIDE.x(0.56), WIDE.x(0.70), WIDE.x(0.81), WIDE.x(0.70)], abs=0.01
    )


def test_numbers_stand_beside_the_marks():
    written = texts(draw(ROWS))
    assert written.index("Alder & Sons") < written.index("Birch")
    assert {"30/40", "75.0 [60.0, 86.0]", "5/10", "50.0 [24.0, 76.0]", "35/50"} <= set(written)
    assert {"0", "25", "50", "75", "100"} <= set(written)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (("Cedar", None, None, None, None, None, True, False), "masked"),
        (("Cedar", 0, 0, None, None, None, False, False), "no eyes"),
    ],
)
def test_a_row_without_an_estimate_keeps_its_label_and_says_why(row: tuple[object, ...], said: str):
    figure = draw([*ROWS, row])
    assert said in texts(figure)
    assert "Cedar" in texts(figure)
    assert len(squares(figure)) == 2


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_nothing_leaves_the_picture_and_rows_do_not_overlap(layout: Layout):
    long_name = "No graft: repeated or enlarged peel of the limiting membrane"
    figure = draw([(long_name, *ROWS[0][1:]), *ROWS], layout)
    _, _, width, height = map(float, figure.attrib["viewBox"].split())
    for text in figure.iter(f"{SVG}text"):
        assert 0 <= number(text, "x") <= width
        assert 0 < number(text, "y") < height
    labels = [text for text in figure.iter(f"{SVG}text") if number(text, "x") == 0]
    heights = [number(label, "y") for label in labels]
    assert heights == sorted(heights)
    assert min(b - a for a, b in pairwise(heights)) > layout.font_size
    tops = [number(square, "y") for square in squares(figure)]
    assert min(b - a for a, b in pairwise(tops)) > LARGEST_SQUARE


def test_the_figure_is_named_for_those_who_hear_it():
    figure = draw(ROWS, NARROW)
    title, desc = figure.find(f"{SVG}title"), figure.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert figure.attrib["role"] == "img"
    assert figure.attrib["aria-labelledby"].split() == [title.get("id"), desc.get("id")]
    assert (title.text, desc.text) == ("Closure", "By centre")


def test_layouts_of_one_figure_share_no_id():
    ids = [
        {element.get("id") for element in draw(ROWS, layout).iter()} - {None} for layout in LAYOUTS
    ]
    assert ids[0].isdisjoint(ids[1])
