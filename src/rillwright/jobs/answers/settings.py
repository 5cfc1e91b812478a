"""Flow controls in turns: what to set each zone valve to."""

from collections.abc import Iterator

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.jobs.answers.starts import gauges_of
from rillwright.jobs.zone_models import start_model, zone_of
from rillwright.model.field_log import Entry, ValveSetting, ZoneStart
from rillwright.model.plan import Zone
from rillwright.report.workings import Given, Working
from rillwright.solvers.devices import valve_for
from rillwright.solvers.turns import Setting, Tried, set_turns

__all__ = ["setting_answers"]

_SOURCE = "docs/theory/turns.md"
_DRAWS = 256
_CLOSE = 0.25  # turns under which a setting is left alone
_STRAINED = 2.0  # standard errors, on the mean, from which the yard is not as it was thought; judgement
_READY = 0.6  # turns, half the band, under which no further reading is asked for


def setting_answers(book: Book) -> Iterator[Answer]:
    """What to set each valve to that was tried, by all its readings."""
    zones = dict.fromkeys(e.what.zone for e in book.entries if isinstance(e.what, ValveSetting))
    for name in zones:
        used = _used(name, book)
        ids = tuple(entry.id for entry in used)
        try:
            answer = _answer(zone_of(book.plan, name), used, book)
        except InputError as error:
            answer = Answer(f"valve of {name}", f"Not used: {error}")
        yield Answer(answer.subject, answer.verdict, answer.says, answer.do, answer.workings, ids)


def _used(name: str, book: Book) -> list[Entry]:
    """The zone's settings, and its last start-up: those before may be of a head that was mended since."""
    own = [e for e in book.entries if isinstance(e.what, ValveSetting | ZoneStart) and e.what.zone == name]
    last = next((entry for entry in reversed(own) if isinstance(entry.what, ZoneStart)), None)
    return [entry for entry in own if entry is last or isinstance(entry.what, ValveSetting)]


def _answer(zone: Zone, used: list[Entry], book: Book) -> Answer:
    model = start_model(book.plan, zone, book.catalogue)
    tried = [_tried(entry, zone) for entry in used]
    place = next(place for place in book.plan.places if zone.id in place.zones)
    valve = valve_for(place.backflow, yard=book.yard, catalogue=book.catalogue, flow=zone.flow)
    nozzles = [book.catalogue.nozzles[head.nozzle] for head in model.zone.heads]
    found = set_turns(
        model,
        book.draws(model.zone.heads, [zone.id], count=_DRAWS),
        tried,
        wide=valve.loss.factor,
        bands=[(nozzle.lowest_pressure, nozzle.highest_pressure) for nozzle in nozzles],
        seed=book.seed,
    )
    return _told(zone, tried[-1].turns, found, len(tried), book)


def _tried(entry: Entry, zone: Zone) -> Tried:
    what = entry.what
    assert isinstance(what, ValveSetting | ZoneStart)
    gauges = tuple(gauges_of(what, zone))
    return Tried(what.turns, gauges, what.turns_error) if isinstance(what, ValveSetting) else Tried(0.0, gauges)


def _told(zone: Zone, now: float, found: Setting, settings: int, book: Book) -> Answer:
    low, turns, high = found.turns
    target = book.show(found.target, "flow")
    subject = f"valve of {zone.id}"
    first = zone.heads[0]
    says = [
        f"Target: {target} at the meter, about {book.show(found.pressures[0], 'pressure')} at {first}. "
        + _window_words(found, book),
        f"Every head is then in its band with a chance of {book.show(found.inside, 'share')}.",
    ]
    if found.strain > _STRAINED:
        says.append(
            f"These readings lie {found.strain:.1f} standard errors off what the yard as planned would show: look at "
            "the supply and at the start-up of this zone first."
        )
    do: list[str] = []
    if found.reached < 0.5:
        verdict = f"Leave it wide open: the zone hardly passes its target of {target} even so."
    else:
        verdict = f"Set it {turns:.1f} turns in from wide open ({low:.1f} to {high:.1f} in nine of ten)."
        move = turns - now
        if abs(move) >= _CLOSE:
            do.append(f"It stands {now:.1f} turns in: turn it {abs(move):.1f} {'in' if move > 0 else 'out'}.")
        if high - low > 2 * _READY:
            do.append("Then read flow or pressure again and write it down: the next answer will be sharper.")
    given = (Given("settings read", str(settings)), Given("turns of the stem", f"{found.whole[1]:.1f}"))
    formula = "N (1 - (1 + loss factor wanted / factor wide open)^(-1/p)), over draws weighed by the readings; quantile"
    workings = [
        Working(f"{subject}.turns-{end}", "Turns in from wide open", value, "number", formula, given, _SOURCE)
        for end, value in zip(("low", "median", "high"), found.turns, strict=True)
    ]
    design = (Given("flow as planned", target, f"zone.{zone.id}.flow"),)
    workings += [
        Working(f"{subject}.target", "Flow to set", found.target, "flow", "flow of the zone as planned", design),
        Working(
            f"{subject}.inside",
            "Chance that every head is in its band",
            found.inside,
            "share",
            "draws with every head between least and greatest pressure of its chart at the target / all, weighed",
            (*design, *given),
            _SOURCE,
        ),
    ]
    return Answer(subject, verdict, tuple(says), tuple(do), tuple(workings))


def _window_words(found: Setting, book: Book) -> str:
    low, high = found.window
    if low > high:
        return "No one flow keeps every head between too little and misting."
    return f"From {band_words(book, low, high, 'flow')} every head has enough and none mists."
