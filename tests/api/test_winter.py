"""Winter and the yearly record of a stored plan, over the interface."""

import uuid

import numpy as np
import pytest

from served_plans import served


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data")) as client:
        yield client


def daily():
    """Invented weather of four years: a cosine, cold enough to freeze."""
    days = np.arange("2001-01-01", "2005-01-01", dtype="datetime64[D]")
    middle = 8 - 14 * np.cos(2 * np.pi * (np.arange(len(days)) - 20) / 365.25) + 3 * np.sin(np.arange(len(days)) * 0.9)
    rows = [f"{day},{high:.1f},{high - 10:.1f}" for day, high in zip(days, middle + 5, strict=True)]
    return "\n".join(["date,tmax_c,tmin_c", *rows]).encode()


def test_the_card_with_weather_and_a_night(web):
    files = {"weather": ("daily.csv", daily(), "text/csv")}
    answer = web.post(f"{web.plan}/winter", data={"tonight": "-4 C", "compressor": "large"}, files=files)
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert found["card"]["headline"].startswith("Drain by")
    assert found["card"]["tonight"]["steps"]
    assert found["winter"]["blow_out"]["compressor"]["name"] == "large"
    for course in found["courses"]:
        assert len(course["time"]) == len(course["left"]) <= 201
        assert course["time"] == sorted(course["time"])
    for table in found["card"]["tables"]:
        assert set(filter(None, table["keys"])) <= set(found["workings"])


def test_the_card_on_paper(web):
    answer = web.post(f"{web.plan}/winter/card", data={})
    assert answer.content.startswith(b"%PDF")
    assert "sandbox" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("data", "files", "told"),
    [
        ({"compressor": "big"}, {}, "small, workshop"),
        ({"tonight": "cold"}, {}, "tonight"),
        ({"season": "12"}, {}, "season"),
        ({}, {"weather": ("x.txt", b"1", "text/plain")}, "weather"),
        ({}, {"weather": ("x.csv", b"date,tmax_c\n2001-01-01,5\n", "text/csv")}, "tmin"),
    ],
)
def test_what_cannot_be_is_a_problem_that_says_so(web, data, files, told):
    answer = web.post(f"{web.plan}/winter", data=data, files=files)
    assert answer.status_code == 422, answer.text
    assert told in answer.text
    assert "/tmp" not in answer.text


def test_the_record_follows_the_log(web):
    assert web.get(f"{web.plan}/record").json()["readings"] == []
    entries = [
        {
            "id": str(uuid.uuid4()),
            "made": f"{year}-05-01T09:00:00Z",
            "what": {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": f"{450 - 2 * n} kPa"}},
        }
        for n, year in enumerate((2030, 2031, 2032, 2033))
    ]
    assert web.post(f"{web.yard}/log", json={"entries": entries}).status_code == 200
    found = web.get(f"{web.plan}/record").json()
    assert found["readings"][0][0] == "static pressure"
    assert len(found["seasons"]) == 4
    assert found["workings"]["record.static-pressure.supply.slope"]["printed"] == "-2 kPa"


def test_a_plan_that_is_not_there(web):
    assert web.post(f"/api/plans/{uuid.uuid4()}/winter", data={}).status_code == 404
    assert web.get(f"/api/plans/{uuid.uuid4()}/record").status_code == 404
