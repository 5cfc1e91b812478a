"""Sheets as they are printed: every text with the box of its ink, on the drawing and in the PDF."""

import math

import pypdfium2
import pypdfium2.raw as pdfium
from defusedxml import ElementTree
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

SVG = "{http://www.w3.org/2000/svg}"
POINT = 25.4 / 72  # [mm]


def texts(svg):
    """Every text of a sheet with the box of its ink [mm], measured on the letters' outlines."""
    for element in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        size = float(element.get("font-size"))
        font = FontProperties(
            family="DejaVu Sans",
            weight=element.get("font-weight", "normal"),
            style=element.get("font-style", "normal"),
        )
        ink = TextPath((0, 0), element.text, size=size, prop=font).get_extents()
        shift = {"start": 0.0, "middle": -ink.x1 / 2, "end": -ink.x1}[element.get("text-anchor", "start")]
        x, y = float(element.get("x")) + shift, float(element.get("y"))
        yield element.text, size, (x + ink.x0, y - ink.y1, x + ink.x1, y - ink.y0)


def words_of(svg):
    """Every text of a sheet."""
    return [element.text for element in ElementTree.fromstring(svg).iter(f"{SVG}text") if element.text]


def letters(page):
    """Every letter of a PDF's page with its ink's box [mm], from the upper left, and its size [pt], in page order."""
    high = page.get_height() * POINT
    text = page.get_textpage()
    found = []
    for number in range(text.count_chars()):
        letter = text.get_text_range(number, 1)
        if letter.strip():
            left, bottom, right, top = (value * POINT for value in text.get_charbox(number))
            matrix = pdfium.FS_MATRIX()
            pdfium.FPDFText_GetMatrix(text, number, matrix)
            size = pdfium.FPDFText_GetFontSize(text, number) * math.hypot(matrix.c, matrix.d)
            found.append((letter, (left, high - top, right, high - bottom), size))
    return found


def pages_of(data):
    """The pages of a PDF, which is closed when they are done with."""
    document = pypdfium2.PdfDocument(data)
    try:
        yield from document
    finally:
        document.close()
