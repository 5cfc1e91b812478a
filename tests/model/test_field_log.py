import uuid

import pytest
from pydantic import ValidationError

from rillwright.model.field_log import Entry, standing


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
