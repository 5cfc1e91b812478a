"""Steps in the ground: sleeves, trenches, filling."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from rillwright.model.guide import Item, Step
from rillwright.solvers.guide.keys import filled_key, group, trench_key
from rillwright.solvers.guide.nets import MAIN, Dug
from rillwright.solvers.guide.site import Site, named

__all__ = ["dig_steps", "fill_steps", "sleeve_steps"]

DEEP = 1.2  # [m] 4 ft: 29 CFR 1926.651(c)(2), from memory


def sleeve_steps(site: Site) -> Iterator[Step]:
    """Sleeves under paving, before it is laid or bored beneath it."""
    sleeves = [dug for dug in site.nets.dug if dug.how == "sleeves"]
    if sleeves:
        yield site.step(
            "sleeves",
            items=[_item(site, dug) for dug in sleeves],
            quantities={("metre", ""): sum(d.trench.length for d in sleeves), ("trench", ""): len(sleeves)},
            after=["expose", ("parts", "delivery")],
            cautions=_dangers(site, sleeves),
            name=f"({', '.join(dug.trench.id for dug in sleeves)})",
            assumed=["Paving is assumed to lie already, and is bored. Where it is yet to come, lay the sleeves first."],
        )


def dig_steps(site: Site) -> Iterator[Step]:
    """Trenches by net, those of the machine between its coming and going."""
    rented = any(dug.how == "dig by machine" for dug in site.nets.dug)
    if rented:
        yield site.step(
            "fetch",
            items=[Item(key="trencher-here", words="Trencher here, shown, running")],
            quantities={("job", ""): 1},
            after=["expose", ("parts", "delivery")],
        )
        yield from _digs(site, "dig by machine", "fetch")
        yield site.step(
            "return",
            items=[Item(key="trencher-back", words="Trencher brought back")],
            quantities={("job", ""): 1},
            after=site.steps_of("dig by machine"),
        )
    yield from _digs(site, "dig by hand", "expose")


def fill_steps(site: Site) -> Iterator[Step]:
    """Filling by net, after everything in its trenches has been tested; then the wait for the soil to sink."""
    for net in site.nets.names:
        own = [dug for dug in site.nets.fills(net) if dug.how != "sleeves"]
        if own:
            yield _fill(site, net, own)
    metres = sum(dug.trench.length for dug in site.nets.dug if dug.how != "sleeves")
    yield site.step(
        "settle",
        items=[Item(key="settled", words="Trenches watered in, topped up and sown")],
        quantities={("metre", ""): metres},
        after=[(step, "sinking") for step in site.steps_of("fill")] or ["test"],
    )


def _digs(site: Site, how: str, after: str) -> Iterator[Step]:
    for net in site.nets.names:
        own = [dug for dug in site.nets.digs(net) if dug.how == how]
        if own:
            yield _dig(site, how, net, own, after)


def _dig(site: Site, how: str, net: str, own: Sequence[Dug], after: str) -> Step:
    quantities: dict[tuple[str, str], float] = defaultdict(float)
    for dug in own:
        quantities["metre", dug.ground] += dug.trench.length * site.volume_share
    if how == "dig by machine":
        quantities["trench", ""] = len(own)
    return site.step(
        how,
        net,
        items=[_item(site, dug) for dug in own],
        quantities=quantities,
        after=[after],
        cautions=_dangers(site, own),
        name=f"{named(len(own), 'trench', 'trenches')} of {_net(net)}",
        before=[f"the trench is to be {site.shown(site.depth, 'depth')} deep"],
    )


def _fill(site: Site, net: str, own: Sequence[Dug]) -> Step:
    within = list(dict.fromkeys(name for dug in own for name in site.nets.within(dug)))
    zones = [name for name in within if name != MAIN]
    after = [f"heads:{name}" for name in zones] + [f"flush:{name}" for name in zones]
    if MAIN in within:
        after += ["see", "wire"]
    metres = sum(dug.trench.length for dug in own) * site.volume_share
    return site.step(
        "fill",
        net,
        items=[
            Item(
                key=f"recorded:{group([trench_key(dug.trench) for dug in own])}",
                words="Measured, photographed and in the log: every valve, splice and pipe that will be covered",
            ),
            *(_filled(site, dug) for dug in own),
        ],
        quantities={("metre", ""): metres},
        after=after,
        cautions=_dangers(site, own, digging=False),
        name=f"{named(len(own), 'trench', 'trenches')} of {_net(net)}",
        before=["tested under pressure; what will be covered is measured from house corners, photographed and logged"],
    )


def _dangers(site: Site, own: Sequence[Dug], *, digging: bool = True) -> list[str]:
    """What these trenches call for beside the usual."""
    found = ["deep trench"] if site.depth >= DEEP else []
    if any(dug.steep for dug in own):
        found.append("steep")
    if digging and any(dug.ground == "roots" for dug in own):
        found.append("roots")
    return found


def _item(site: Site, dug: Dug) -> Item:
    trench = dug.trench
    through = "under" if dug.how == "sleeves" else "through"
    return Item(
        key=trench_key(trench),
        words=f"{trench.id}: {site.shown(trench.length)} {through} {trench.surface}",
        note=f"{named(len(trench.pipes), 'pipe')}: {', '.join(trench.pipes)}",
        at=trench.path[len(trench.path) // 2],
        name=trench.id,
    )


def _filled(site: Site, dug: Dug) -> Item:
    trench = dug.trench
    return Item(
        key=filled_key(trench),
        words=f"{trench.id}: {site.shown(trench.length)}",
        at=trench.path[len(trench.path) // 2],
        name=trench.id,
    )


def _net(net: str) -> str:
    return "the main" if net == MAIN else net
