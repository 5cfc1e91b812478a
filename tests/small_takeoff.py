"""A small plan to take parts off: two valve places, three zones, five heads. All invented."""

import itertools
import math

from rillwright.model.catalogue import load_catalogue
from rillwright.model.plan import Head, Node, Pipe, Trench, ValvePlace, Zone
from rillwright.model.site import BACKFLOW_KINDS, Yard
from rillwright.solvers.takeoff import take_off

CATALOGUE = load_catalogue()
WASTE = 1.05
AT = {
    "E": (0, 0), "V1": (10, 0), "V2": (10, 20), "H1": (14, 0), "H2": (18, 0),
    "J1": (10, -5), "H3": (6, -5), "H4": (14, -5), "H5": (16, 24),
}  # fmt: skip
HEIGHT = {"E": 5.0, "V1": 5.0, "V2": 4.0, "H1": 5.0, "H2": 4.9, "J1": 4.5, "H3": 4.4, "H4": 4.6, "H5": 4.2}
MEMBERS = {"Z1": ("H1", "H2"), "Z2": ("H3", "H4"), "Z3": ("H5",)}
PLACES = {"V1": ("Z1", "Z2"), "V2": ("Z3",)}


def yard(**changes):
    facts = {
        "name": "invented",
        "units": "metric",
        "areas": [{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (30, 0), (30, 30)]}],
        "water_entry": {"at": (0, 0), "height": 5.0, "pipe": {"material": "copper L", "size": "1 in", "length": 10}},
        "controller": {"stations": 4, "at": (-3, 4)},
        "backflow": {"allowed": list(BACKFLOW_KINDS)},
    }
    return Yard.model_validate(facts | changes)


def head(name):
    return Head(
        id=name, lawn="lawn", at=AT[name], ground=HEIGHT[name], head_class="rotary",
        nozzle="rotary 20 ft" if name == "H5" else "rotary 15 ft", arc_start=0, arc=180, radius_share=1, radius=4,
        flow=5e-5, pressure=2.8e5, hydrozone="sun",
    )  # fmt: skip


def zone(name, flow):
    place = next(place for place, zones in PLACES.items() if name in zones)
    return Zone.model_construct(id=name, heads=MEMBERS[name], place=place, flow=flow)  # all that the take-off reads


def pipe(name, start, end, material, size, zone=None, by=()):
    path = (AT[start], *by, AT[end])
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(path))
    return Pipe(
        id=name, role="lateral" if zone else "main", zone=zone, start=start, end=end, path=path, length=length,
        material=material, size=size, bore=0.02, flow=1e-4, velocity=0.5, loss=1e3,
    )  # fmt: skip


def runs(main="PVC schedule 40", lateral="PE", small="1/2 in"):
    return (
        pipe("M1", "E", "V1", main, "1 in"),
        pipe("M2", "V1", "V2", main, "1 in"),
        pipe("A1", "V1", "H1", lateral, "1 in", "Z1"),
        pipe("A2", "H1", "H2", lateral, "3/4 in", "Z1"),
        pipe("B1", "V1", "J1", lateral, "3/4 in", "Z2"),
        pipe("B2", "J1", "H3", lateral, "3/4 in", "Z2"),
        pipe("B3", "J1", "H4", lateral, "3/4 in", "Z2"),
        pipe("C1", "V2", "H5", lateral, small, "Z3", by=((10, 24),)),
    )


def trench(name, pipes, *, sleeve, length=2.0, cost=10.0):
    surface = "paving" if sleeve else "lawn"
    return Trench(
        id=name, path=((0, 0), (length, 0)), surface=surface, length=length, pipes=pipes, sleeve=sleeve, cost=cost
    )


TRENCHES = (
    trench("T1", ("M1",), sleeve=False, length=8.0, cost=24.0),
    trench("T2", ("M2", "A1"), sleeve=True, cost=130.0),
)


def tally(kind="double check", *, of=None, pipes=None, height=None, trenches=TRENCHES, catalogue=CATALOGUE, flow=2e-4):
    places = [
        ValvePlace(
            id=name,
            at=AT[name],
            ground=HEIGHT[name],
            backflow=kind,
            device_height=height,
            highest_outlet=5.1,
            zones=zones,
        )
        for name, zones in PLACES.items()
    ]
    return take_off(
        yard=of or yard(),
        catalogue=catalogue,
        heads=[head(name) for members in MEMBERS.values() for name in members],
        zones=[zone(name, flow[name] if isinstance(flow, dict) else flow) for name in MEMBERS],
        places=places,
        pipes=runs() if pipes is None else pipes,
        trenches=trenches,
        nodes=[Node(id=name, at=at, ground=HEIGHT[name]) for name, at in AT.items()],
        backflow=kind,
    )


def parts(kind="double check", *, spare=0.0, **changes):
    catalogue = changes.get("catalogue", CATALOGUE)
    return tally(kind, **changes).lines(catalogue.prices, stock=catalogue.stock, spare=spare)


def counts(lines):
    return {line.part: round(line.quantity, 9) for line in lines}
