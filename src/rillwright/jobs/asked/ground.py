"""What ground and trench can hardly be: heights, depths, places and intakes far from what is known."""

from collections.abc import Iterator

from shapely.geometry import LineString, Point, box

from rillwright.jobs.asked.question import Known, Question
from rillwright.model.field_log import Entry, PartFitted, PipeBuried, SoilIntake, SpotLevel

__all__ = ["ground_questions"]

_FAR = 20.0  # [m] outside the drawn ground; judgement
_STEP = 1.5  # [m] off the ground as drawn; judgement
_INTAKE = (2e-3 / 3600, 1.0 / 3600)  # [m/s] 2 mm/h to 1 m/h: heavy clay to coarse sand, from memory
_COVER = 0.6  # share of the cover that the yard asks for
_DEEP = 1.5  # [m] near the 5 ft from which OSHA 29 CFR 1926.652 asks for protection (from memory)
_ASIDE = 3.0  # [m] between a buried pipe's line and the plan's; judgement


def ground_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Questions on ground, pipes in it and parts."""
    what = entry.what
    if isinstance(what, SpotLevel):
        yield from _of_height(what, known)
    elif isinstance(what, SoilIntake):
        yield from _of_intake(what, known)
    elif isinstance(what, PipeBuried):
        yield from _of_pipe(what, known)
    elif isinstance(what, PartFitted):
        yield from _of_place(what, known)


def _of_height(what: SpotLevel, known: Known) -> Iterator[Question]:
    if known.ground is None:
        return
    away = list(_far_off("a height", what.place, known))
    yield from away
    if away:
        return
    drawn = known.ground.terrain.at(*what.place)
    if abs(what.height - drawn) > _STEP:
        yield Question(
            "height of the ground",
            f"{known.show(what.height, 'length')} there",
            f"the yard's heights put the ground at {known.show(drawn, 'length')} there",
            "Look at the sign, the unit and the datum: heights count from that of the yard's spot heights.",
        )


def _of_place(what: PartFitted, known: Known) -> Iterator[Question]:
    yield from _far_off(f"{what.part} {what.name}", what.place, known)
    if what.depth is not None:
        yield from _deep(what.depth, known)


def _far_off(words: str, place: tuple[float, float], known: Known) -> Iterator[Question]:
    if known.ground is not None and box(*known.ground.extent).distance(Point(place)) > _FAR:
        at = ", ".join(known.show(value, "length") for value in place)
        yield Question("far off", f"{words} at {at}", "that is far from the drawn yard", "Look at place and units.")


def _deep(depth: float, known: Known) -> Iterator[Question]:
    if depth > _DEEP:
        figure, why = f"{known.show(depth, 'length')} deep", "pipe of a lawn hardly lies so deep"
        do = "Look at the unit. Nobody stands in a trench so deep whose sides are not shored or sloped."
        yield Question("great depth", figure, why, do)


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
    yield from _deep(what.depth, known)
    pipe = next((p for p in known.plan.pipes if p.id == what.pipe), None) if known.plan else None
    if pipe is not None and what.line is not None:
        aside = LineString(what.line).hausdorff_distance(LineString(pipe.path))
        if aside > _ASIDE:
            figure = f"{pipe.id} up to {known.show(aside, 'length')} from its line in the plan"
            yield Question("another line", figure, "pipes were planned elsewhere", "Look at name, places and units.")
