"""Sheets keep their sense in grey: nothing is told by hue alone, and nothing is too pale for paper.

Contrast and its least values: WCAG 2.1, relative luminance and success criteria 1.4.3 (4.5 for text) and 1.4.11 (3 for
what must be seen to understand); from memory.
"""

import itertools

import pytest
from defusedxml import ElementTree

from drawing_sets import SETS, drawn_set, titles
from printed import SVG
from rillwright.report.palette import zone_colour, zone_dash

TEXT, LINE = 4.5, 3.0


def luminance(colour):
    """Relative luminance of a colour such as '#0072B2'."""
    shares = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(colour):
    """Contrast of a colour with white paper."""
    return 1.05 / (luminance(colour) + 0.05)


def test_every_zone_s_line_stands_off_the_paper():
    assert all(contrast(zone_colour(n)) >= LINE for n in range(64))


def test_zones_of_like_grey_have_unlike_dashes():
    """Up to eight zones differ in dash; of more, those that share a dash differ in grey, or their ids tell them."""
    looks = [(zone_dash(n), luminance(zone_colour(n))) for n in range(8)]
    assert all(a[0] != b[0] for a, b in itertools.combinations(looks, 2))


@pytest.mark.parametrize("case", [SETS[0], SETS[2]])
def test_words_and_lines_that_mean_something_are_dark_enough(case):
    for svg in drawn_set(*case):
        root = ElementTree.fromstring(svg)
        for text in root.iter(f"{SVG}text"):
            fill = text.get("fill", "#000000")
            assert fill == "#ffffff" or contrast(fill) >= TEXT, (titles(svg), text.text, fill)
        for group in root.iter(f"{SVG}g"):
            if group.get("id").rpartition("-")[2] not in ("pipes", "trenches", "wires", "heads", "marks", "lines"):
                continue
            for shape in group:
                stroke = None if shape.tag == f"{SVG}text" else shape.get("stroke")
                assert stroke is None or contrast(stroke) >= LINE, (titles(svg), stroke)
