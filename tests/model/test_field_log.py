import math
import uuid

import pytest
from pydantic import ValidationError

from rillwright.model.field_log import Entry, standing, supply_tests, zone_flow


def entry(what, **more):
    return Entry.model_validate({"id": str(uuid.uuid4()), "made": "2031-05-04T09:00:00Z", "what": what} | more)


def test_readings_carry_their_own_units():
    watch = entry(
        {
            "kind": "leak watch",
            "closed_in": ["main"],
            "readings": [
                {"after": 0, "pressure": "60 psi", "water": "58 °F"},
                {"after": "20 min", "pressure": "59 psi"},
            ],
        }
    ).what
    assert watch.readings[1].after == 1200.0
    assert watch.readings[0].pressure == pytest.approx(413_685, abs=1)
    assert watch.readings[0].water == pytest.approx(287.594, abs=1e-3)


CUPS = {"kind": "catch cups", "zone": "Z1", "ran": 900}


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (
            {"kind": "leak watch", "closed_in": ["main"], "readings": [{"after": 60, "pressure": 4e5}] * 2},
            "each 'after' later",
        ),
        ({"kind": "zone start", "zone": "Z1"}, "at least one"),
        ({"kind": "valve setting", "zone": "Z1", "turns": 2}, "at least one"),
        ({"kind": "zone flow", "zone": "Z1", "volume": 0.1, "seconds": 0}, "greater than 0"),
        ({"kind": "head look", "head": "H1", "seen": "odd"}, "as planned"),
        ({"kind": "meter pair", "before": 5, "after": 4, "seconds": 60}, "counts up"),
        ({"kind": "meter pair", "running": "Z1", "before": 5, "after": 5, "seconds": 60}, "stood still"),
        ({"kind": "meter pair", "running": "Z1", "before": 5, "after": 56, "seconds": 60}, "look at the digits"),
        (
            {
                "kind": "soil intake",
                "ring": 0.15,
                "readings": [{"after": 60 * k, "soaked": 0.03 - 0.01 * k} for k in (0, 1, 2)],
            },
            "never falls",
        ),
        ({"kind": "catch cups", "zone": "Z1", "ran": 60, "cups": [{"at": [0, 0], "volume": 1e-5}]}, "mouth"),
        ({"kind": "catch cups", "zone": "Z1", "ran": 60, "cups": [{"at": [0, 0]}]}, "either 'depth' or 'volume'"),
        (
            CUPS | {"cups": [{"at": [0, 0], "depth": 0.01}], "read_error": "1 mL"},
            "'read_error' is of cups read by volume",
        ),
        (
            CUPS | {"mouth": 0.08, "cups": [{"at": [0, 0], "volume": 1e-5}], "depth_error": "1 mm"},
            "'depth_error' is of cups read by depth",
        ),
        (CUPS | {"cups": [{"at": [0, 0], "depth": 0.01}], "depth_error": "3 in"}, "must be at most"),
        (CUPS | {"cups": [{"at": [0, 0], "depth": 0.01}], "depth_error": 0}, "must be more than"),
    ],
)
def test_what_cannot_be_is_refused_with_words(what, words):
    with pytest.raises(ValidationError, match=words):
        entry(what)


def test_the_last_correction_stands_and_a_withdrawn_entry_does_not():
    first, other = entry({"kind": "note"}, words="a"), entry({"kind": "note"}, words="b")
    once = entry({"kind": "note"}, words="c", corrects=str(first.id))
    twice = entry({"kind": "note"}, words="d", corrects=str(first.id))
    gone = entry({"kind": "note"}, corrects=str(other.id), withdraws=True)
    assert standing([first, other, once, twice, gone]) == [twice]
    assert standing([once, first]) == [once]


def test_millilitres_over_the_mouth_are_a_depth():
    """Arithmetic: 45.6 mL in a mouth of 76.2 mm (3 in) are 45.6e-6 / (π/4 · 0.0762²) = 10.0 mm."""
    cups = [{"at": [0, 0], "volume": "45.6 mL"}, {"at": [1, 0], "depth": "7 mm"}, {"at": [2, 0], "volume": 0}]
    what = entry({"kind": "catch cups", "zone": "Z1", "ran": 900, "mouth": "3 in", "cups": cups}).what
    assert what.depths == pytest.approx([0.0456e-3 / (math.pi / 4 * 0.0762**2), 0.007, 0.0])


def test_cups_keep_the_error_of_their_reading():
    """Arithmetic: 2 mL over 45.6 cm² of a 3 in mouth are 0.44 mm."""
    cups = [{"at": [0, 0], "volume": "45.6 mL"}, {"at": [1, 0], "depth": "7 mm"}]
    plain = {"kind": "catch cups", "zone": "Z1", "ran": 900, "mouth": "3 in", "cups": cups}
    assert entry(plain).what.errors == (None, None)
    read = entry(plain | {"read_error": "2 mL", "depth_error": "1/32 in"}).what
    assert read.errors == pytest.approx((0.44e-3, 0.79e-3), abs=0.01e-3)
    again = Entry.model_validate_json(Entry.model_dump_json(entry(plain | {"read_error": "2 mL"})))
    assert again.what.errors == (pytest.approx(0.44e-3, abs=0.01e-3), None)


def test_a_meter_read_twice_is_a_flow_of_what_ran():
    pair = {"kind": "meter pair", "before": "4120.3 ft3", "after": "4124.3 ft3", "seconds": 300}
    found = zone_flow(entry(pair | {"running": "Z2"}).what)
    assert (found.zone, found.volume) == ("Z2", pytest.approx(4 * 0.3048**3))
    # two looks in error by half a litre on 113 L, and 1.5 % of the meter (JCGM 100: added in squares)
    assert found.volume_error == pytest.approx(math.hypot(math.sqrt(2) * 0.5 / 113.267, 0.015), rel=1e-4)
    assert zone_flow(entry(pair).what) is None
    ((_, test),) = supply_tests([entry(pair | {"running": "open outlet"})])
    assert (test.kind, test.pressure) == ("meter reading", 0.0)


def test_an_outlet_partly_open_measures_no_supply():
    fill = {"kind": "supply test", "measurement": {"kind": "bucket fill", "volume": "20 L", "seconds": [20]}}
    assert supply_tests([entry(fill | {"valve_open": 0.5, "outlet": "hose tap"})]) == []
    assert len(supply_tests([entry(fill)])) == 1
    gauge = {"kind": "supply test", "measurement": {"kind": "gauge at a flow", "pressure": "50 psi", "flow": "5 gpm"}}
    assert len(supply_tests([entry(gauge | {"valve_open": 0.5})])) == 1  # read before the valve
