"""The packaged fittings against the standards' dimensions, and that the shelf joins every pipe there is."""

from collections import Counter

import pytest

from rillwright.data.tables import Row
from rillwright.errors import TableError
from rillwright.model.catalogue import load_catalogue
from rillwright.model.fittings import JOINS, Mouth, _fitting, load_fittings, load_stock, pipe_ends
from rillwright.model.site import PIPE_MATERIALS
from rillwright.physics.units import INCH

TABLE = load_fittings()
SIZES = ("1/2 in", "3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in", "2-1/2 in", "3 in", "4 in")

# ASTM D2466, least socket length and centre to socket bottom of elbow and tee [in]; from memory
SOCKET = (0.688, 0.719, 0.875, 0.938, 1.094, 1.156, 1.750, 1.875, 2.000)
CENTRE = (0.500, 0.563, 0.688, 0.844, 0.969, 1.219, 1.500, 1.813, 2.313)
# ASME B1.20.1, hand-tight engagement L1 [in] and threads to the inch; from memory
HAND_TIGHT = (0.320, 0.339, 0.400, 0.420, 0.420, 0.436, 0.682, 0.766, 0.844)
THREADS = (14, 14, 11.5, 11.5, 11.5, 11.5, 8, 8, 8)


@pytest.mark.parametrize(("size", "socket", "centre"), list(zip(SIZES, SOCKET, CENTRE, strict=True)))
def test_plastic_sockets_follow_the_standard(size, socket, centre):
    """ASTM D2466, schedule 40 sockets, from memory; the table is kept to 0.1 mm."""
    assert TABLE.depth(Mouth("slip", size, "female")) == pytest.approx(socket * INCH, abs=6e-5)
    for body in ("tee", "elbow"):
        for takeoff in TABLE.of(f"{body} PVC {size}").takeoffs:
            assert takeoff == pytest.approx(centre * INCH, abs=6e-5)


@pytest.mark.parametrize(("size", "hand_tight", "threads"), list(zip(SIZES, HAND_TIGHT, THREADS, strict=True)))
def test_threads_engage_as_the_standard_says(size, hand_tight, threads):
    """ASME B1.20.1, from memory: L1 by hand, then one to two turns (common practice, no source)."""
    depth = TABLE.depth(Mouth("thread", size, "male")) / INCH
    assert hand_tight + 1 / threads < depth < hand_tight + 2 / threads
    assert depth == pytest.approx(hand_tight + 1.5 / threads, abs=0.003)


def test_every_mouth_has_its_joint_and_every_part_is_listed_once():
    assert max(Counter(fitting.part for fitting in TABLE.fittings).values()) == 1
    for fitting in TABLE.fittings:
        assert len(fitting.mouths) == len(fitting.takeoffs) > 0
        for mouth in fitting.mouths:
            assert TABLE.joints[mouth.join, mouth.size].depth > 0
            assert mouth.mate.mate == mouth != mouth.mate
    assert {mouth.join for fitting in TABLE.fittings for mouth in fitting.mouths} == set(JOINS)


def test_every_pipe_there_is_can_be_joined_turned_branched_and_threaded():
    for pipe in load_catalogue().pipes:
        taken = {end.mate for end in pipe_ends(pipe.material, pipe.trade_size)}
        bodies = Counter(f.body for f in TABLE.fittings if taken.intersection(f.mouths))
        assert {"tee", "elbow", "coupling", "adapter"} <= bodies.keys(), pipe


def test_every_material_is_sold_in_some_length():
    stock = load_stock()
    assert {length.material for length in stock} == set(PIPE_MATERIALS)
    assert all(length.length > 1 and 0 <= length.kerf < 0.01 for length in stock)


@pytest.mark.parametrize("cell", ["slip 1 in", "glue 1 in male", "thread 1 inch male", "", "barb 1 in neither"])
def test_a_mouth_that_cannot_be_read_is_refused(cell):
    cells = {
        "part": "odd",
        "body": "adapter",
        "end_1": "slip 1 in male",
        "end_2": cell,
        "end_3": "",
        "source": "invented",
    }
    cells |= {"takeoff_1_mm": "1", "takeoff_2_mm": "1", "takeoff_3_mm": "", "over": "", "price": "1"}
    if not cell:
        cells["end_1"] = "slip one in female"
    with pytest.raises(TableError, match="write join, size and gender"):
        _fitting(Row("odd.csv", 2, cells))
