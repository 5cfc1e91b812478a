"""Leak watches, one by one and together."""

from collections.abc import Iterator, Mapping, Sequence

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.model.field_log import Entry, LeakWatch
from rillwright.model.plan import Pipe, Plan
from rillwright.report.workings import Given, Working
from rillwright.solvers.leak import LeakFound, Look, Watch, closed_pipes, judge_watch, weigh_watch, where_to_look
from rillwright.solvers.leak.verdict import MATTERS
from rillwright.solvers.leak.watch import AIR, Evidence

__all__ = ["leak_answers"]

_SOURCE = "docs/theory/leak.md"
_CAUTION = "Watch with water only: compressed air in a pipe kills. Stay under the rating of the weakest part."

_APART = "More than one place leaks, or a valve does not close: no one place explains all these watches."
_APART_DO = "Withdraw watches from before a leak was mended. Watch each part by itself, capped where a valve may leak."


def leak_answers(book: Book) -> Iterator[Answer]:
    """What each leak watch says, then where to look by all of them."""
    last: dict[frozenset[str], tuple[Entry, Evidence, str]] = {}  # by the pipes closed in; a leak may be mended
    watches = [(entry, entry.what) for entry in book.entries if isinstance(entry.what, LeakWatch)]
    for number, (entry, what) in enumerate(watches, start=1):
        subject = f"leak watch {number}"
        try:
            pipes = _pipes(what.closed_in, book.plan)
            watch = _watch(what, pipes, book)
        except InputError as error:
            yield Answer(subject, f"Not used: {error}", entries=(entry.id,))
            continue
        evidence = weigh_watch(watch)
        found = judge_watch(watch, evidence)
        last[frozenset(pipe.id for pipe in pipes)] = entry, evidence, found.verdict
        yield _answer(subject, entry, watch, found, book)
    if any(verdict != "tight" for _, _, verdict in last.values()):
        seen = [(inside, evidence) for inside, (_, evidence, _) in last.items()]
        yield _where(seen, [entry for entry, _, _ in last.values()], book)


def _pipes(names: Sequence[str], plan: Plan) -> list[Pipe]:
    groups = _groups(plan)
    unknown = [name for name in names if name not in groups]
    if unknown:
        zones = ", ".join(zone.id for zone in plan.zones)
        raise InputError(f"the plan has no '{unknown[0]}' to close in: write 'main', a zone ({zones}) or a pipe's id")
    wanted = {pipe for name in names for pipe in groups[name]}
    return [pipe for pipe in plan.pipes if pipe.id in wanted]


def _groups(plan: Plan) -> Mapping[str, Sequence[str]]:
    groups: dict[str, list[str]] = {pipe.id: [pipe.id] for pipe in plan.pipes}
    for pipe in plan.pipes:
        groups.setdefault(pipe.zone or "main", []).append(pipe.id)
    return groups


def _watch(what: LeakWatch, pipes: Sequence[Pipe], book: Book) -> Watch:
    return Watch(
        pipes=closed_pipes(pipes, book.catalogue),
        looks=tuple(Look(look.after, look.pressure, look.water) for look in what.readings),
        pressure_error=max(what.pressure_error, 500.0),
        water_error=what.water_error,
        held=what.held,
        temperature=book.yard.water_entry.temperature,
    )


def _answer(subject: str, entry: Entry, watch: Watch, found: LeakFound, book: Book) -> Answer:
    low, middle, high = found.rate
    rate = f"{book.show(middle, 'leak')} ({band_words(book, low, high, 'leak')} in nine of ten)"
    span = watch.looks[-1].after - watch.looks[0].after
    matters = book.show(MATTERS, "leak")
    do: tuple[str, ...] = ()
    if found.verdict == "leaking":
        verdict = f"Leaking: about {rate} at the pressure of the start."
        do = ("Shut isolating valves in turn and watch again: each watch halves what is left to search.",)
    elif found.verdict == "tight":
        verdict = f"Tight: a leak over {matters} has a chance of {book.show(found.chance, 'share')}."
    elif found.watch_until is not None:
        verdict = f"Too short to tell: watch until {book.show(found.watch_until, 'minutes')} after the start."
        do = ("Go on reading the gauge and the water's temperature at the same valve settings.",)
    else:
        verdict = "Too short to tell, and a longer watch alone will not settle it."
        do = (_instead(watch),)
    parts = ", ".join(f"{book.show(share.fall, 'pressure')} by {share.cause}" for share in found.shares)
    rest = book.show(found.fall - sum(share.fall for share in found.shares), "pressure")
    fell = f"The pressure fell by {book.show(found.fall, 'pressure')} in {book.show(span, 'minutes')}: {parts}, "
    fell += f"{rest} by what the gauge errs."
    says = [fell]
    if sum(look.water is not None for look in watch.looks) < 2:
        says.append("Nobody read the water's temperature twice, so that its drift stays a guess.")
    return Answer(subject, verdict, (*says, _CAUTION), do, tuple(_workings(subject, watch, found, book)), (entry.id,))


def _instead(watch: Watch) -> str:
    if watch.looks[-1].pressure < 0.1 * watch.looks[0].pressure:
        return "The pressure is gone: fill again and read every minute at first, then the rate can be told."
    if sum(look.water is not None for look in watch.looks) < 2:
        return "Read the water's temperature with every look at the gauge, and watch again."
    return "Bleed air off at the highest end and use a gauge with finer marks, then watch again."


def _workings(subject: str, watch: Watch, found: LeakFound, book: Book) -> Iterator[Working]:
    pipes = watch.pipes
    given = (
        Given("volume closed in", book.show(pipes.volume, "volume")),
        Given("walls give", f"{1e9 * pipes.stretch:.2f} per GPa and {1e6 * pipes.swelling:.0f} per million and K"),
        Given("walls creep", f"{100 * pipes.creep:.0f} % of their stretch for each tenfold of time"),
        Given("trapped air, likeliest", f"{100 * found.air:.1f} % of the volume (usual {100 * AIR:.1f} %)"),
        Given("looks at the gauge", str(len(watch.looks))),
    )
    balance = "balance of volumes of water, walls, air and leakage, weighed for every rate; quantile"
    for end, value in zip(("low", "median", "high"), found.rate, strict=True):
        title = "Leakage at the start pressure"
        yield Working(f"{subject}.rate-{end}", title, value, "leak", balance, given, _SOURCE)
    formula = f"share of the odds on rates over {book.show(MATTERS, 'leak')}"
    yield Working(f"{subject}.chance", "Chance of a leak that matters", found.chance, "share", formula, given, _SOURCE)
    for share in found.shares:
        formula = "forecast of the likeliest fit without this cause less the forecast with it"
        title = f"Fall by {share.cause}"
        yield Working(f"{subject}.{share.cause.split()[0]}", title, share.fall, "pressure", formula, given, _SOURCE)


def _where(seen: Sequence[tuple[frozenset[str], Evidence]], entries: Sequence[Entry], book: Book) -> Answer:
    lengths = {pipe.id: pipe.length for pipe in book.plan.pipes if any(pipe.id in inside for inside, _ in seen)}
    found = where_to_look([(inside, e.log) for inside, e in seen], lengths=lengths, splits=_splits(book.plan, lengths))
    ids = tuple(entry.id for entry in entries)
    if found.apart:
        return Answer("leak place", _APART, (), (_APART_DO,), (), ids)
    likeliest = found.suspects[0]
    where = _named(likeliest.pipes, book.plan)
    workings = tuple(
        Working(
            f"leak place.{number}",
            f"Chance that {_named(suspect.pipes, book.plan)} leaks",
            suspect.chance,
            "share",
            "sum over rates of prior · product over the watches of their evidence, with this place closed in or not",
            (Given("watches", str(len(seen))),),
            _SOURCE,
        )
        for number, suspect in enumerate(found.suspects, start=1)
    )
    verdict = f"Look at {where}: {book.show(likeliest.chance, 'share')} of the odds are there."
    if found.tight > 0.5:
        verdict = f"Nothing need leak: {book.show(found.tight, 'share')} of the odds."
    do = () if found.split is None else (f"Shut off and watch {found.split}: that tells {found.told:.1f} bit of 1.",)
    others = [f"{_named(s.pipes, book.plan)}: {book.show(s.chance, 'share')}" for s in found.suspects[1:4]]
    says = (f"Else {'; '.join(others)}.",) if others else ()
    return Answer("leak place", verdict, says, do, workings, ids)


def _splits(plan: Plan, lengths: Mapping[str, float]) -> dict[str, list[str]]:
    """What can be closed in by itself: a zone, or what lies behind a run of the main, unless the main is looped."""
    splits = {
        f"{zone.id} alone (its heads capped)": [p.id for p in plan.pipes if p.zone == zone.id] for zone in plan.zones
    }
    main = [pipe for pipe in plan.pipes if pipe.role == "main"]
    looped = len(main) >= len({end for pipe in main for end in (pipe.start, pipe.end)})
    for pipe in () if looped else main:
        behind, grew = {pipe.id}, True
        while grew:
            ends = {one.end for one in main if one.id in behind}
            more = {one.id for one in main if one.start in ends} - behind
            behind, grew = behind | more, bool(more)
        splits[f"the main from {pipe.id} on, if a valve or cap can stand there"] = sorted(behind)
    return {words: inside for words, inside in splits.items() if any(pipe in lengths for pipe in inside)}


def _named(pipes: Sequence[str], plan: Plan) -> str:
    """Pipes in few words: whole groups by their name."""
    left, words = set(pipes), []
    for name, inside in _groups(plan).items():
        if len(inside) > 1 and set(inside) <= left:
            words.append("the main" if name == "main" else f"the laterals of {name}")
            left -= set(inside)
    return ", ".join([*words, *sorted(left)])
