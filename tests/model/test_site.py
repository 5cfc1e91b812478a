import typing

import pytest
from pydantic import ValidationError

from rillwright.data.tables import read_table
from rillwright.model import site
from rillwright.model.site import Yard


def yard(**changes):
    facts = {
        "name": "Test",
        "units": "metric",
        "areas": [
            {"id": "a", "kind": "lawn", "outline": [(0, 0), (9, 0), (9, 9)]},
            {"id": "b", "kind": "bed", "outline": [(0, 0), (9, 0), (9, 9)]},
            {"id": "c", "kind": "lawn", "outline": [(0, 0), (9, 0), (9, 9)]},
        ],
        "water_entry": {"at": (0, 0), "height": 0, "pipe": {"material": "PE", "size": "1 in", "length": 9}},
        "controller": {"stations": 4},
        "backflow": {"allowed": ["double check"]},
    }
    return Yard.model_validate(facts | changes)


def test_lawns_come_in_file_order():
    assert [lawn.id for lawn in yard().lawns] == ["a", "c"]


def test_a_yard_cannot_be_changed():
    with pytest.raises(ValidationError):
        yard().name = "other"


@pytest.mark.parametrize(
    ("listed", "kind"),
    [
        (site.AREA_KINDS, site.AreaKind),
        (site.HEAD_CLASSES, site.HeadClass),
        (site.BACKFLOW_KINDS, site.BackflowKind),
        (site.PIPE_MATERIALS, site.PipeMaterial),
    ],
)
def test_lists_hold_what_the_types_allow(listed, kind):
    assert listed == typing.get_args(kind)


def test_every_pipe_material_has_sizes_in_the_table():
    assert {row.text("material") for row in read_table("pipes")} == set(site.PIPE_MATERIALS)


@pytest.mark.parametrize("origin", [{"lon": 181, "lat": 0}, {"lon": 0, "lat": 90}, {"lon": "3", "lat": 0}, {"lon": 0}])
def test_an_origin_is_a_place_on_earth(origin):
    assert yard(origin={"lon": -30, "lat": 45}).origin.lat == 45
    with pytest.raises(ValidationError):
        yard(origin=origin)
