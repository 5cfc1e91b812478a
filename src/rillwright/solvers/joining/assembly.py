"""A node as an assembly: tees and saddles in a row, each arm closed by the cheapest chain of fittings.

Given arms 0..n-1, of which the first comes in and the second goes on. Two arms take one chain. More take a row of n - 2
bodies of three mouths along the pipe of the row, short pieces of that pipe between them. The price of a row is the sum
over its bodies, so each body is chosen by itself: over all tees, and saddles where the pipe may go on uncut, the
least of its price and the chains to its three arms. Every answer is kept: nodes alike come again thousands of times.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rillwright.model.fittings import GENDERS, Body, Fitting, FittingTable, Mouth, Piece, family_of, nominal, pipe_ends
from rillwright.model.site import PipeMaterial
from rillwright.solvers.joining.chain import Chain, Ways, all_ways, connectors

__all__ = ["Arm", "Assembly", "Joiner", "joiner_of"]


@dataclass(frozen=True, slots=True)
class Arm:
    """One thing to be joined at a node: the end of a pipe, or the thread of a device."""

    ends: tuple[Mouth, ...]  # the ways in which it may be joined
    pipe: Piece | None  # where it is a pipe
    via: tuple[Body, ...]  # elbows and unions that must stand before it, from the node on
    what: str  # in words, for what cannot be joined

    @property
    def width(self) -> float:
        """Nominal width [m]."""
        return nominal(self.ends[0].size)

    @classmethod
    def of_pipe(cls, material: PipeMaterial, size: str, via: tuple[Body, ...] = ()) -> "Arm":
        """The end of a pipe."""
        return cls(pipe_ends(material, size), (material, size), via, f"pipe {material} {size}")

    @classmethod
    def of_thread(cls, mouth: Mouth, what: str, via: tuple[Body, ...] = ()) -> "Arm":
        """The thread of a device."""
        return cls((mouth,), None, via, what)


@dataclass(frozen=True, slots=True)
class Assembly:
    """What joins the arms of a node."""

    price: float  # [currency], clamps and rings counted
    parts: tuple[tuple[str, int], ...]
    pieces: tuple[Piece, ...]  # short pieces of pipe, each STUB long
    joints: tuple[Mouth, ...]  # one mouth of each joint made
    setbacks: tuple[float, ...]  # [m] by arm, from the node to where its own end stops
    uncut: bool = False  # the first arm's pipe goes on into the second's, under a saddle
    open: tuple[str, ...] = ()  # what no fittings on the shelf join, in words


@dataclass(frozen=True, slots=True)
class _Body:
    """A tee or saddle with its chains."""

    price: float
    fittings: tuple[Fitting, ...]
    joints: tuple[Mouth, ...]
    setbacks: tuple[float, ...]  # of the arm before, the arm after and the branch
    uncut: bool = False


class Joiner:
    """Joins arms by the fittings of one catalogue."""

    def __init__(self, table: FittingTable) -> None:
        self._table = table
        mouths = [Mouth(join, size, gender) for join, size in table.joints for gender in GENDERS]
        self._closing = {mouth: table.closing_price(mouth) for mouth in mouths}
        self._tees = [f for f in table.fittings if f.body == "tee"]
        self._saddles = [f for f in table.fittings if f.body == "saddle"]
        self._on: dict[frozenset[Piece], Mapping[Mouth, Sequence[tuple[Fitting, int, int]]]] = {}
        self._ways: dict[tuple[object, ...], Ways] = {}
        self._known: dict[tuple[object, ...], Assembly] = {}

    def join(self, arms: tuple[Arm, ...], *, row: Piece, straight: bool = False) -> Assembly:
        """Join the arms of a node at the least price.

        Parameters: arms, two at least: the first coming in, the second going on, the others branching off; row, the
        pipe between tees that stand in a row; straight, whether the first two lie in line, so that a saddle may
        sit on them where they are of one pipe.
        """
        key = (arms, row, straight)
        if key not in self._known:
            self._known[key] = self._chain(*arms) if len(arms) == 2 else self._row(arms, row, straight=straight)
        return self._known[key]

    def _chain(self, first: Arm, second: Arm) -> Assembly:
        """Two arms: the way from the second's ends through both arms' elbows to the first's."""
        through = Arm(second.ends, None, (*first.via[::-1], *second.via), "")
        floor = min(first.width, second.width)
        tries = (self._reach(through, pipes, floor=floor) for pipes in self._at_hand((first, second)))
        chain = next((found for ways in tries if (found := self._closed(first.ends, ways)) is not None), None)
        if chain is None:
            return Assembly(0.0, (), (), (), (0.0, 0.0), open=(f"{first.what} to {second.what}",))
        return _assembly(_Body(chain.price, chain.fittings, chain.joints, (chain.length / 2,) * 2))

    def _row(self, arms: tuple[Arm, ...], row: Piece, *, straight: bool) -> Assembly:
        first, second, *branches = arms
        link = Arm.of_pipe(*row)
        last = len(branches) - 1
        found: list[_Body] = []
        unmade: list[str] = []
        for number, branch in enumerate(branches):
            before, after = first if number == 0 else link, second if number == last else link
            body = self._body((before, after, branch), straight=straight and last == 0)
            if body is None:
                unmade.append(f"{before.what}, {after.what} and {branch.what}")
            found.append(body or _Body(0.0, (), (), (0.0, 0.0, 0.0)))
        whole = _Body(
            sum(body.price for body in found),
            tuple(fitting for body in found for fitting in body.fittings),
            tuple(joint for body in found for joint in body.joints),
            (found[0].setbacks[0], found[-1].setbacks[1], *(body.setbacks[2] for body in found)),
            all(body.uncut for body in found),
        )
        return _assembly(whole, links=(row,) * last, unmade=tuple(unmade))

    def _body(self, arms: tuple[Arm, Arm, Arm], *, straight: bool) -> _Body | None:
        """The cheapest tee or saddle with chains to its arms: the arm before it, the one after, and the branch."""
        widths = [arm.width for arm in arms]
        floors = [min(widths[n], max(widths[:n] + widths[n + 1 :])) for n in range(3)]
        for pipes in self._at_hand(arms):
            ways = [self._reach(arm, pipes, floor=floor) for arm, floor in zip(arms, floors, strict=True)]
            found = [body for tee in self._tees for body in self._tees_of(tee, ways, floors)]
            if straight and arms[0].pipe is not None and arms[0].pipe == arms[1].pipe:
                found += self._saddles_on(arms[0].pipe, ways[2])
            if found:
                return min(found, key=lambda body: (body.price, len(body.fittings)))
        return None

    def _saddles_on(self, pipe: Piece, ways: Ways) -> list[_Body]:
        """Saddles on a pipe that goes on uncut, each closed to the branch."""
        found: list[_Body] = []
        for saddle in (saddle for saddle in self._saddles if saddle.over == f"{family_of(pipe[0])} {pipe[1]}"):
            chain = self._closed(saddle.mouths, ways)
            if chain is not None:
                backs = (0.0, 0.0, saddle.takeoffs[0] + chain.length)
                price, fittings = chain.price + (saddle.price or 0.0), (saddle, *chain.fittings)
                found.append(_Body(price, fittings, chain.joints, backs, uncut=True))
        return found

    def _tees_of(self, tee: Fitting, ways: Sequence[Ways], floors: Sequence[float]) -> list[_Body]:
        """A tee closed to its arms, put in either way round, where none of its mouths throttles one."""
        found: list[_Body] = []
        for order in ((0, 1, 2), (1, 0, 2)) if tee.mouths[0] != tee.mouths[1] else ((0, 1, 2),):
            if any(nominal(tee.mouths[m].size) < floor for m, floor in zip(order, floors, strict=True)):
                continue
            chains = [self._closed((tee.mouths[m],), way) for m, way in zip(order, ways, strict=True)]
            made = [chain for chain in chains if chain is not None]
            if len(made) == len(chains):
                backs = tuple(tee.takeoffs[m] + chain.length for m, chain in zip(order, made, strict=True))
                price = (tee.price or 0.0) + sum(chain.price for chain in made)
                fittings = (tee, *(fitting for chain in made for fitting in chain.fittings))
                found.append(_Body(price, fittings, tuple(j for chain in made for j in chain.joints), backs))
        return found

    def _closed(self, mouths: Sequence[Mouth], ways: Ways) -> Chain | None:
        """The cheapest way that one of some mouths closes, with that last joint."""
        best: Chain | None = None
        for mouth in mouths:
            chain = ways.get(mouth.mate)
            price = chain.price + self._closing[mouth] if chain else 0.0
            if chain is not None and (best is None or price < best.price):
                best = Chain(price, chain.fittings, (*chain.joints, mouth), chain.length)
        return best

    def _at_hand(self, arms: Sequence[Arm]) -> Iterator[frozenset[Piece]]:
        """The pipe that short pieces may be cut from: what is joined here; where that will not do, its other sizes."""
        yield frozenset(arm.pipe for arm in arms if arm.pipe is not None)
        materials = {arm.pipe[0] for arm in arms if arm.pipe is not None}
        sizes = {arm.ends[0].size for arm in arms}
        yield frozenset(piece for piece in self._table.pieces if piece[0] in materials and piece[1] in sizes)

    def _reach(self, arm: Arm, pipes: frozenset[Piece], *, floor: float) -> Ways:
        """The ways from an arm, its elbows passed from the arm's end on."""
        key = (arm.ends, arm.via, pipes, floor)
        if key not in self._ways:
            if pipes not in self._on:
                short = (self._table.pieces[pipe] for pipe in sorted(pipes))
                self._on[pipes] = connectors((*self._table.fittings, *short))
            on = self._on[pipes]
            self._ways[key] = all_ways(arm.ends, arm.via[::-1], on=on, closing=self._closing, floor=floor)
        return self._ways[key]


@lru_cache(maxsize=8)
def joiner_of(table: FittingTable) -> Joiner:
    """The joiner of a table; equal tables share one, with all that it knows."""
    return Joiner(table)


def _assembly(body: _Body, *, links: tuple[Piece, ...] = (), unmade: tuple[str, ...] = ()) -> Assembly:
    counted: Counter[str] = Counter(f.part for f in body.fittings if f.piece is None)
    pieces = (*links, *(f.piece for f in body.fittings if f.piece is not None))
    return Assembly(body.price, tuple(counted.items()), pieces, body.joints, body.setbacks, body.uncut, unmade)
