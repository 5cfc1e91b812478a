import re

import pytest

from plan_yards import CATALOGUE, EXAMPLES, small_yard
from rillwright.errors import InputError, YardError
from rillwright.exchange import load_yard, save_yard
from rillwright.exchange.yard_file import validated
from rillwright.model.existing_rules import check_nozzles

HEAD = {"id": "old head", "at": [1, 1], "head_class": "rotary"}
PIPE = {"id": "old pipe", "role": "lateral", "material": "PE", "size": "1 in", "path": [[2, 0], [2, 3]]}
PLACE = {"id": "old box", "at": [2, 1]}


def part_built(**existing):
    return small_yard(existing=existing)


def test_things_in_the_ground_are_read_in_the_yards_units():
    yard = validated(
        part_built(heads=[HEAD], pipes=[PIPE], places=[PLACE]) | {"units": "US", "supply": []}, source="test"
    )
    assert yard.existing.heads[0].at == pytest.approx((0.3048, 0.3048))
    assert yard.existing.pipes[0].path[1] == pytest.approx((0.6096, 0.9144))
    assert yard.existing.heads[0].arc == 360
    assert yard.existing.places[0].moving_cost == 0


@pytest.mark.parametrize(
    ("existing", "said"),
    [
        ({"heads": [HEAD | {"at": [1, 9]}]}, r"existing\.heads\[0\]\.at: head 'old head' at \(1, 9\) is 2\.00 m off"),
        ({"heads": [HEAD, HEAD | {"id": "other"}]}, r"existing\.heads\[1\]\.at: 'other' stands where 'old head' does"),
        ({"heads": [HEAD, PLACE | {"head_class": "spray"}], "places": [PLACE]}, r"'old box' is used 2 times"),
        ({"heads": [HEAD | {"id": "house"}]}, r"'house' is used 2 times"),
        ({"heads": [HEAD | {"arc": 0}]}, r"existing\.heads\[0\]\.arc: 0 for a rotary head"),
        ({"heads": [HEAD | {"arc": -90}]}, r"existing\.heads\[0\]\.arc"),
        ({"heads": [HEAD | {"radius": 0}]}, r"existing\.heads\[0\]\.radius: 0"),
        ({"heads": [HEAD | {"head_class": "rotor"}]}, r"existing\.heads\[0\]\.head_class.*Did you mean"),
        ({"pipes": [PIPE | {"size": "9 in"}]}, r"existing\.pipes\[0\]\.size: '9 in' is not in the table"),
        ({"pipes": [PIPE | {"path": [[2, 0]]}]}, r"existing\.pipes\[0\]\.path"),
        ({"pipes": [PIPE | {"path": [[2, 0], [2, 0]]}]}, r"existing\.pipes\[0\]\.path\[0\]: is the same point"),
        ({"pipes": [PIPE | {"path": [[2, 0], [2, 30]]}]}, r"existing\.pipes\[0\]\.path: the pipe lies 23.00 m off"),
        ({"places": [PLACE | {"at": [50, 1]}]}, r"existing\.places\[0\]\.at: the valve place lies 41.00 m off"),
        ({"boxes": [PLACE]}, r"existing\.boxes: unknown key"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(existing, said):
    with pytest.raises(YardError) as error:
        validated(part_built(**existing), source="test")
    assert re.search(said, str(error.value)), str(error.value)


def test_a_nozzle_must_be_in_the_charts():
    yard = validated(part_built(heads=[HEAD | {"nozzle": "rotary 99 ft"}]), source="test")
    with pytest.raises(InputError, match="'old head' in the ground: no rotary nozzle 'rotary 99 ft' is in the charts"):
        check_nozzles(yard, CATALOGUE)
    check_nozzles(validated(part_built(heads=[HEAD | {"nozzle": "rotary 20 ft"}]), source="test"), CATALOGUE)


def test_a_nozzle_must_be_able_to_throw_the_arc():
    yard = validated(part_built(heads=[HEAD | {"nozzle": "rotary 20 ft", "arc": 30}]), source="test")
    with pytest.raises(InputError, match="nozzle 'rotary 20 ft' cannot throw 30°; it comes with 45° to 360°"):
        check_nozzles(yard, CATALOGUE)
    check_nozzles(validated(part_built(heads=[HEAD | {"arc": 30}]), source="test"), CATALOGUE)


def test_geojson_keeps_what_is_in_the_ground(tmp_path):
    yard = load_yard(EXAMPLES / "part-built.yard.json")
    save_yard(yard, tmp_path / "part-built.geojson")
    assert load_yard(tmp_path / "part-built.geojson").existing == yard.existing
