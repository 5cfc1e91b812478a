"""A field of thirty far-throwing heads behind a service of a size on a strong street main. Invented."""

from plan_yards import CATALOGUE, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.model.plan import Head
from rillwright.physics.units import GPM, PSI
from rillwright.solvers.supply import fit_supply


def case_of(size, *, kind="pressure vacuum breaker", device=None):
    """A field of 48 m by 36 m behind a service of a size on a strong street main."""
    document = small_yard(
        areas=[{"id": "field", "kind": "lawn", "outline": rectangle(0, 0, 48, 36)}],
        spot_heights=[{"at": [x, y], "height": 0.0} for x in (0, 48) for y in (0, 36)],
        water_entry={"at": [2, 0], "height": 0, "pipe": {"material": "PVC schedule 40", "size": size, "length": 15}},
        supply=[
            {"kind": "static gauge", "pressure": 620},
            {"kind": "gauge at a flow", "pressure": 560, "flow": 150},
            {"kind": "gauge at a flow", "pressure": 470, "flow": 300},
        ],
        controller={"stations": 30},
        backflow={"allowed": [kind], "size": device},
        valves={"allowed": ["in-line valve"]},
    )
    yard = validated(document, source="test")
    return make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0, effort=0.0)


def heads():
    """Mid rotors every 9 to 12 m, 5 gpm each."""
    nozzle = next(n for n in CATALOGUE.nozzles.values() if n.head_class == "mid rotor")
    return tuple(
        Head(
            id=f"H{number}",
            lawn="field",
            at=at,
            ground=0.0,
            head_class="mid rotor",
            nozzle=nozzle.id,
            arc_start=0.0,
            arc=360.0,
            radius_share=1.0,
            radius=12.0,
            flow=5 * GPM,
            pressure=45 * PSI,
            hydrozone="field",
        )
        for number, at in enumerate(((x, y) for y in (0.5, 9, 18, 27, 35.5) for x in (0.5, 9, 18, 27, 36, 45)), start=1)
    )
