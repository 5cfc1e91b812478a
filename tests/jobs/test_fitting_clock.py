"""Nights that leave room for whole minutes where the clock of the longest runs does not fit its hours."""

from types import SimpleNamespace

import numpy as np
import pytest

from rillwright.jobs.watering import plan as planning
from rillwright.model.growing import Watering
from rillwright.solvers.clock import ClockPlan, ClockProgram

FITS = ClockPlan("optimal", (ClockProgram((("Z1", 10),), (0,), 0),), 0, 1)
HOURS = ClockPlan("infeasible", (), 0, 1, ("longer hours",))
STARTS = ClockPlan("infeasible", (), 0, 1, ("more start times",))


@pytest.mark.parametrize(
    ("clocks", "short", "taken", "tried"),
    [
        ({1.0: FITS}, {}, 1.0, [1.0]),
        ({1.0: HOURS, 0.9: FITS}, {}, 0.9, [1.0, 0.9]),
        ({1.0: HOURS, 0.9: HOURS, 0.75: FITS}, {}, 0.75, [1.0, 0.9, 0.75]),
        ({1.0: HOURS, 0.9: FITS}, {0.9: 0.002}, 1.0, [1.0, 0.9]),  # at the price of dry ground
        ({1.0: HOURS, 0.9: HOURS, 0.75: HOURS}, {}, 1.0, [1.0, 0.9, 0.75]),
        ({1.0: STARTS}, {}, 1.0, [1.0]),  # room in the hours would not help
    ],
)
def test_room_is_left_only_where_it_helps(monkeypatch, clocks, short, taken, tried):
    asked = []

    def choose(*_, room):
        asked.append(room)
        least = SimpleNamespace(seconds=np.ones((1, 1)), short=np.array([short.get(room, 0.0)]))
        return SimpleNamespace(room=room, least=least, patterns=[SimpleNamespace(every=1)])

    monkeypatch.setattr(planning, "choose_nights", choose)
    monkeypatch.setattr(planning, "set_months", lambda *_, **__: clocks[asked[-1]])
    yard = SimpleNamespace(watering_terms=Watering())
    chosen, clock = planning._fitting(None, None, None, yard, seed=0)
    assert (chosen.room, clock) == (taken, clocks[taken])
    assert asked == tried
