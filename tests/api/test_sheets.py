"""The drawing set over the interface."""

import io

import pypdf
import pytest

from served_plans import served


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data"), host="http://127.0.0.1:8765") as client:
        yield client


def test_the_set_comes_on_the_paper_asked_for_with_the_address_of_its_plan(web):
    asked = {"paper": "letter", "only": ["cover", "parts"], "day": "2027-05-08", "download": True}
    answer = web.get(f"{web.plan}/sheets", params=asked)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/pdf"
    assert 'attachment; filename="sheets.pdf"' in answer.headers["content-disposition"]
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    assert float(pages[0].mediabox.width) == pytest.approx(792)
    text = "".join(page.extract_text() for page in pages).replace("\n", "")
    assert f"http://127.0.0.1:8765/#/{web.yard.removeprefix('/api/yards/')}/plan" in text
    assert "2027-05-08" in text


def test_what_cannot_be_printed_is_a_problem_with_words(web):
    wrong = web.get(f"{web.plan}/sheets", params={"scale": "huge"})
    assert wrong.status_code == 422
    assert "1:100, or 1 in = 10 ft" in wrong.text
    assert web.get(f"{web.plan}/sheets", params={"paper": "b5"}).status_code == 422
    assert web.get("/api/plans/00000000-0000-4000-8000-000000000000/sheets").status_code == 404


def test_the_plan_as_dxf_is_one_of_its_files(web):
    answer = web.get(f"{web.plan}/files/plan.dxf")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "image/vnd.dxf"
    assert b"LATERAL Z1" in answer.content
