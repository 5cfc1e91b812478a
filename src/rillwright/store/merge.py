"""Three-way merge of JSON documents whose lists hold items by id.

Two people change the same base; `merge` puts both changes together. An object is merged key by key. A list of objects
is merged item by item when each item is known by its `id`, or by where it stands (`at`), or, such as readings, by all
it says; any other list, such as an outline, is one value. Where both changed one value, and differently, that is a
conflict: the merged document holds mine, unless mine is a deletion, which never wins over a change by itself.

merge(b, b, x) = merge(b, x, b) = merge(b, x, x) = x, and what only one side changed is never a conflict.
"""

import json
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

__all__ = ["ABSENT", "Change", "Conflict", "Merge", "changes", "merge", "same"]

Json = Any
Names = list[Hashable]


class _Absent:
    """What stands where nothing does; JSON's null is something."""

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT = _Absent()


@dataclass(frozen=True, slots=True)
class Conflict:
    """One value that both sides changed differently; ABSENT where a side has none."""

    pointer: str  # JSON pointer (RFC 6901) into the merged document
    base: Json
    mine: Json
    theirs: Json


@dataclass(frozen=True, slots=True)
class Merge:
    """A merged document and what is left to decide."""

    document: dict[str, Json]
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """One value that differs between two documents; ABSENT where it is not there."""

    pointer: str  # into the document before, or the one after where it was added
    label: str  # in words, e.g. 'areas: front lawn: outline'
    before: Json
    after: Json


def same(one: Json, two: Json) -> bool:
    """Whether two JSON values are the same; true is not 1, and 1 is 1.0."""
    if isinstance(one, bool) or isinstance(two, bool):
        return one is two
    if isinstance(one, dict) and isinstance(two, dict):
        return one.keys() == two.keys() and all(same(value, two[key]) for key, value in one.items())
    if isinstance(one, list) and isinstance(two, list):
        return len(one) == len(two) and all(map(same, one, two))
    return bool(one == two)


def merge(base: Mapping[str, Json], mine: Mapping[str, Json], theirs: Mapping[str, Json]) -> Merge:
    """Put two changes of one base together."""
    conflicts: list[Conflict] = []
    document = _objects(dict(base), dict(mine), dict(theirs), "", conflicts)
    return Merge(document, tuple(conflicts))


def changes(before: Mapping[str, Json], after: Mapping[str, Json]) -> tuple[Change, ...]:
    """List what differs between two documents, item by item."""
    found: list[Change] = []
    _compare(dict(before), dict(after), "", (), found)
    return tuple(found)


def _value(base: Json, mine: Json, theirs: Json, pointer: str, conflicts: list[Conflict]) -> Json:
    """Merge one value, each side perhaps ABSENT."""
    if same(mine, theirs) or same(theirs, base):
        return mine
    if same(mine, base):
        return theirs
    if isinstance(mine, dict) and isinstance(theirs, dict):
        return _objects(base if isinstance(base, dict) else {}, mine, theirs, pointer, conflicts)
    if isinstance(mine, list) and isinstance(theirs, list):
        name = _naming(base if isinstance(base, list) else [], mine, theirs)
        if name is not None:
            return _lists(base if isinstance(base, list) else [], mine, theirs, pointer, conflicts, name)
    conflicts.append(Conflict(pointer, base, mine, theirs))
    return theirs if mine is ABSENT else mine


def _objects(
    base: dict[str, Json], mine: dict[str, Json], theirs: dict[str, Json], pointer: str, conflicts: list[Conflict]
) -> dict[str, Json]:
    out: dict[str, Json] = {}
    for key in _order(list(base), list(mine), list(theirs)):
        old, own, other = (side.get(key, ABSENT) for side in (base, mine, theirs))
        value = _value(old, own, other, f"{pointer}/{_escaped(key)}", conflicts)
        if value is not ABSENT:
            out[key] = value
    return out


def _lists(
    base: list[Json],
    mine: list[Json],
    theirs: list[Json],
    pointer: str,
    conflicts: list[Conflict],
    name: Callable[[list[Json]], Names],
) -> list[Json]:
    by_name = [dict(zip(name(side), side, strict=True)) for side in (base, mine, theirs)]
    out: list[Json] = []
    for key in _order(*(list(side) for side in by_name)):
        old, own, other = (side.get(key, ABSENT) for side in by_name)
        value = _value(old, own, other, f"{pointer}/{len(out)}", conflicts)
        if value is not ABSENT:
            out.append(value)
    return out


def _order(base: Sequence[Hashable], mine: Sequence[Hashable], theirs: Sequence[Hashable]) -> list[Any]:
    """Every name once: in my order where I changed it, else in theirs; what the other added follows its neighbour."""
    shared = set(base) & set(mine) & set(theirs)
    kept = [[name for name in side if name in shared] for side in (base, mine)]
    first, second = (theirs, mine) if kept[0] == kept[1] else (mine, theirs)
    out: list[Hashable] = list(first)
    place = set(out)
    for number, name in enumerate(second):
        if name in place:
            continue
        before = next((other for other in reversed(second[:number]) if other in place), None)
        out.insert(0 if before is None else out.index(before) + 1, name)
        place.add(name)
    return out


def _naming(*sides: list[Json]) -> Callable[[list[Json]], Names] | None:
    """How the items of a list are told apart; None when they are not objects."""
    items = [item for side in sides for item in side]
    if not items or not all(isinstance(item, dict) for item in items):
        return None
    for key in ("id", "at"):
        if all(key in item for item in items):
            named = [_by_key(key, side) for side in sides]
            if all(len(set(names)) == len(names) for names in named):
                return partial(_by_key, key)
    return _counted


def _by_key(key: str, side: list[Json]) -> Names:
    """Items by what they have under a key."""
    return [_text(item[key]) for item in side]


def _counted(side: list[Json]) -> Names:
    """Items by all they say, and by how many like it came before."""
    seen: dict[str, int] = {}
    names: Names = []
    for text in map(_text, side):
        seen[text] = seen.get(text, 0) + 1
        names.append((text, seen[text]))
    return names


def _text(value: Json) -> str:
    return json.dumps(_even(value), sort_keys=True)


def _even(value: Json) -> Json:
    """Whole floats as integers, so that equal numbers read alike."""
    if isinstance(value, dict):
        return {key: _even(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_even(inner) for inner in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")


def _compare(before: Json, after: Json, pointer: str, label: tuple[str, ...], found: list[Change]) -> None:
    if same(before, after):
        return
    if isinstance(before, dict) and isinstance(after, dict):
        for key in [*before, *(k for k in after if k not in before)]:
            inner = f"{pointer}/{_escaped(key)}"
            _compare(before.get(key, ABSENT), after.get(key, ABSENT), inner, (*label, key), found)
        return
    name = _naming(before, after) if isinstance(before, list) and isinstance(after, list) else None
    if name is None:
        found.append(Change(pointer, ": ".join(label), before, after))
        return
    old, new = ({key: (n, item) for n, (key, item) in enumerate(zip(name(s), s, strict=True))} for s in (before, after))
    count = len(found)
    for key in [*old, *(k for k in new if k not in old)]:
        at, item = old.get(key, (None, ABSENT))
        later, other = new.get(key, (None, ABSENT))
        word = _label(other if item is ABSENT else item)
        _compare(item, other, f"{pointer}/{later if at is None else at}", (*label, word), found)
    if len(found) == count:
        found.append(Change(pointer, ": ".join((*label, "order")), before, after))


def _label(item: Json) -> str:
    for key in ("id", "at", "kind"):
        if key in item:
            value = item[key]
            return value if isinstance(value, str) else f"at {json.dumps(value)}" if key == "at" else json.dumps(value)
    return "item"
