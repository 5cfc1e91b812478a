"""The guide on paper and as a page: one sheet for each work day, with its cautions, in type that can be read."""

import io
import re
from datetime import date

import pypdf
import pytest
from defusedxml import ElementTree

from plan_yards import planned, small_yard
from rillwright.jobs.guide import make_guide
from rillwright.model.catalogue import load_catalogue
from rillwright.model.guide import WEEKDAYS, BuildTerms
from rillwright.report.guide_page import render_guide
from rillwright.report.guide_sheets import guide_pdf
from rillwright.report.guide_words import guide_words

CATALOGUE = load_catalogue()
TERMS = (
    BuildTerms(start=date(2027, 5, 1)),
    BuildTerms(start=date(2027, 10, 4), days=WEEKDAYS[:5], hours=4, crew=1, digging="hand"),
)
NAME = 'A yard of "<i>&amp;</i> #strong[signs]'


@pytest.fixture(scope="module", params=range(len(TERMS)))
def made(request):
    plan = planned(small_yard(name=NAME, units=("metric", "US")[0]))
    return plan, make_guide(plan, CATALOGUE, TERMS[request.param])


def flat(text):
    """Text in one line, as before a line was broken at a space or after a hyphen."""
    return re.sub(r"-\s+", "-", re.sub(r"\s+", " ", text))


def test_each_work_day_has_one_sheet_with_all_that_belongs_to_it(made):
    plan, guide = made
    pages = [flat(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(guide_pdf(guide, plan))).pages]
    words = guide_words(guide, plan)
    sheets = pages[-len(guide.days) :]
    assert not any("Work day" in page for page in pages[: -len(guide.days)])
    for number, (sheet, day) in enumerate(zip(sheets, words["days"], strict=True), start=1):
        assert sheet.startswith(f"Work day {number}: {day['date']}")
        assert day["cautions"] or not any("dig" in part["title"].lower() for part in day["parts"])
        for texts in (day["tools"], *(part["ends"] for part in day["parts"])):
            assert all(flat(text) in sheet for text in texts)
        assert all(flat(caution["words"]) in sheet for caution in day["cautions"])
        assert all(flat(item["words"]) in sheet for part in day["parts"] for item in part["items"])


def test_a_day_shows_the_cautions_of_its_steps_and_no_others(made):
    plan, guide = made
    steps = {step.id: step for step in guide.steps}
    for day, told in zip(guide.days, guide_words(guide, plan)["days"], strict=True):
        own = {caution.words for part in day.parts for caution in steps[part.step].cautions}
        assert {caution["words"] for caution in told["cautions"]} == own


def test_type_is_at_least_seven_points(made):
    plan, guide = made
    sizes = []
    for page in pypdf.PdfReader(io.BytesIO(guide_pdf(guide, plan))).pages:
        page.extract_text(visitor_text=lambda text, _cm, _tm, _font, size: sizes.append(size) if text.strip() else None)
    assert min(sizes) >= 7


def test_the_page_holds_every_step_and_no_markup_of_the_yard(made):
    plan, guide = made
    page = render_guide(guide, plan)
    assert "<i>&amp;</i> #strong" not in page.split("</style>")[1]
    root = ElementTree.fromstring(re.sub(r"<!doctype html>|<meta[^>]*>|<style>.*?</style>", "", page, flags=re.DOTALL))
    details = [flat("".join(part.itertext())) for part in root.iter("details")]
    assert len(details) == len(guide.steps)
    for step, text in zip(guide.steps, details, strict=True):
        assert step.title in text
        assert flat(step.ends) in text
        assert step.source in text
        assert all(flat(caution.words) in text and caution.source in text for caution in step.cautions)
        assert all(work.source in text for work in step.work)


def test_the_same_guide_gives_the_same_bytes(made):
    plan, guide = made
    assert guide_pdf(guide, plan) == guide_pdf(guide, plan)
