"""An invented yard whose valves stand at two places, and pipework with places set by hand."""

from dataclasses import replace

from plan_yards import CATALOGUE, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.jobs.pipework import lay_pipes
from rillwright.model.plan import Head, ValvePlace
from rillwright.solvers.supply import fit_supply

SPOTS = {"V1": (9.5, 1.0), "V2": (43.0, 2.0), "V3": (43.0, 42.0)}


def far_lawns(layout="branched", *, lawns=2, **changes):
    """Lawns at the corners of a large bed, watered by so little that each takes many zones."""
    corners = [(0, 0), (41, 0), (41, 39)][:lawns]
    areas = [{"id": "bed", "kind": "bed", "outline": rectangle(0, -4, 52, 52)}]
    areas += [
        {"id": f"lawn {k}", "kind": "lawn", "outline": rectangle(*at, 11, 9)} for k, at in enumerate(corners, start=1)
    ]
    areas += [{"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)}]
    facts = {
        "name": "Far lawns",
        "areas": areas,
        "spot_heights": [{"at": [x, y], "height": 0.01 * y} for x in (0, 26, 52) for y in (-4, 22, 48)],
        "controller": {"stations": 30},
        "heads": {"allowed": ["spray"], "aim": "most even"},
        "pipes": {"main_layout": layout},
        "water_entry": {
            "at": [9, -2],
            "height": -0.4,
            "pipe": {"material": "copper L", "size": "1 in", "length": 45},
        },
        "supply": [
            {"kind": "static gauge", "pressure": 450},
            {"kind": "gauge at a flow", "pressure": 330, "flow": 14},
        ],
    }
    return small_yard(**facts | changes)


def head(name, at, flow=7e-5):
    return Head(
        id=name,
        lawn="lawn 1",
        at=at,
        ground=0.0,
        head_class="spray",
        nozzle="spray 12 ft",
        arc_start=0.0,
        arc=180.0,
        radius_share=1.0,
        radius=3.6,
        flow=flow,
        pressure=2e5,
        hydrozone="turf",
    )


def by_hand(kind="double check"):
    """Case, heads by zone and places: two zones of four heads at each of three places."""
    yard = validated(far_lawns(lawns=3), source="test")
    case = make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0)
    members, places = {}, []
    for k, (name, (x, y)) in enumerate(SPOTS.items(), start=1):
        zones = (f"Z{2 * k - 1}", f"Z{2 * k}")
        for shift, zone in enumerate(zones):
            spots = [(x + 3 * (i // 2) - (8 if k == 1 else 0), y + 3 * (i % 2) + 1.5 * shift) for i in range(4)]
            members[zone] = [head(f"{zone}H{i}", spot) for i, spot in enumerate(spots)]
        places.append(
            ValvePlace(
                id=name, at=(x, y), ground=0.0, backflow=kind, device_height=None, highest_outlet=0.1, zones=zones
            )
        )
    return case, members, places


def pipework(*, looped):
    """Case, heads, places and their pipework."""
    case, members, places = by_hand()
    case = replace(case, looped=looped)
    return case, members, places, lay_pipes(members, places, "double check", case=case)
