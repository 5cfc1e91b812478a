"""What now: a job is under way, the field says otherwise than the plan, and the least-cost change is looked for.

Statement. Let P be the plan being built, F the facts of the job (what was bought, which trenches are open or closed
over their pipes) and s the supply fitted anew. For a lawful change c of the present system, with P(c) the system
after it,

    minimise over c    money(c) + w · hours(c) + thrown(c)
    subject to         P(c) is sound on the cautious supply s and holds surely enough; nothing pinned is touched

money is what has to be paid more than to finish P as drawn: parts, fresh trenches, closed trenches dug up again; hours
are the mean of three points for each task, w what an hour is worth; thrown is what was paid for or lies in the ground
and is not used. Weighing: weigh.py. Soundness: sound.py. How surely: chance.py.

The changes. Each zone of P is dealt with by one option: it stays; it is split above one of its laterals; one of its
pipes is made wider, or two that follow each other; it is split and one of the pipes that the two zones begin with is
made wider; its valve is moved to one of its junctions; up to three heads at the end of a line go to another zone, which
is then dealt with too. Alone, and with each of these that is one change, the nozzles of one zone that then is may be
changed for less water. Any zone so dealt with may have to run longer. Beside that one option for what all zones share:
nothing, a booster pump, a second supply at a stated price, one wider pipe of the main. Stations come as zones ask for
them.

Solved by branch and bound (search.py): exact for these changes unless it is stopped or its budget of complete changes
ends it; it then states its bound. The next best must differ in kind: its kinds do not hold all those that make a change
found before what it is (Found.bar). Deterministic. See docs/theory/replan.md.
"""

from rillwright.jobs.replan.pinned import in_yard
from rillwright.jobs.replan.replan import Outcome, replan_job

__all__ = ["Outcome", "in_yard", "replan_job"]
