"""What ground, trench and receipt can hardly be: heights, depths, intakes and prices far from what is known."""

from collections.abc import Iterator

from shapely.geometry import LineString, Point, box

from rillwright.jobs.asked.question import Known, Question
from rillwright.model.field_log import Entry, PartsBought, PartsReturned, PipeBuried, SoilIntake, SpotLevel

__all__ = ["ground_questions"]

_FAR = 20.0  # [m] outside the drawn ground; judgement
_STEP = 1.5  # [m] off the ground as drawn; judgement
_INTAKE = (2e-3 / 3600, 1.0 / 3600)  # [m/s] 2 mm/h to 1 m/h: heavy clay to coarse sand, from memory
_COVER = 0.6  # share of the cover that the yard asks for
_ASIDE = 3.0  # [m] between a buried pipe's line and the plan's; judgement
_PRICE = 5.0  # times the plan's price, either way; judgement


def ground_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Questions on ground, pipes in it and parts."""
    what = entry.what
    if isinstance(what, SpotLevel):
        yield from _of_height(what, known)
    elif isinstance(what, SoilIntake):
        yield from _of_intake(what, known)
    elif isinstance(what, PipeBuried):
        yield from _of_pipe(what, known)
    elif isinstance(what, PartsBought | PartsReturned):
        yield from _of_prices(what, known)


def _of_height(what: SpotLevel, known: Known) -> Iterator[Question]:
    if known.ground is None:
        return
    if box(*known.ground.extent).distance(Point(what.place)) > _FAR:
        at = ", ".join(known.show(value, "length") for value in what.place)
        yield Question("far off", f"a height at {at}", "that is far from the drawn yard", "Look at place and units.")
        return
    drawn = known.ground.terrain.at(*what.place)
    if abs(what.height - drawn) > _STEP:
        yield Question(
            "height of the ground",
            f"{known.show(what.height, 'length')} there",
            f"the yard's heights put the ground at {known.show(drawn, 'length')} there",
            "Look at the sign, the unit and the datum: heights count from that of the yard's spot heights.",
        )


def _of_intake(what: SoilIntake, known: Known) -> Iterator[Question]:
    last, before = what.readings[-1], what.readings[-2]
    rate, (low, high) = (last.soaked - before.soaked) / (last.after - before.after), _INTAKE
    if not low <= rate <= high:
        yield Question(
            "intake of a soil",
            f"{known.show(rate, 'rate')} at the end",
            f"soils take in {known.show(low, 'rate')} to {known.show(high, 'rate')}",
            "Look for a leak round the ring, at the unit of depth, and write all that soaked in since the start.",
        )


def _of_pipe(what: PipeBuried, known: Known) -> Iterator[Question]:
    if known.yard is not None and what.depth < _COVER * known.yard.rules.trench_depth:
        wanted = known.show(known.yard.rules.trench_depth, "length")
        figure, why = f"{known.show(what.depth, 'depth')} of cover", f"the yard asks for {wanted}"
        yield Question("little cover", figure, why, "Dig it deeper while it is open, or look at the unit.")
    pipe = next((p for p in known.plan.pipes if p.id == what.pipe), None) if known.plan else None
    if pipe is not None and what.line is not None:
        aside = LineString(what.line).hausdorff_distance(LineString(pipe.path))
        if aside > _ASIDE:
            figure = f"{pipe.id} up to {known.show(aside, 'length')} from its line in the plan"
            yield Question("another line", figure, "pipes were planned elsewhere", "Look at name, places and units.")


def _of_prices(what: PartsBought | PartsReturned, known: Known) -> Iterator[Question]:
    lines = {line.part: line for line in known.plan.parts} if known.plan else {}
    for part in what.parts:
        line = lines.get(part.part)
        if line is None or line.price <= 0 or part.price <= 0:
            continue
        if not 1 / _PRICE <= part.price / line.price <= _PRICE:
            figure = f"{part.part} at {part.price:.2f} a {line.unit}"
            why = f"the plan's price is {line.price:.2f}"
            yield Question("price", figure, why, "Write the price of one piece or one metre, not of the whole line.")
