"""Quick cutting plans: first fit, best fit, and sticks filled one after another as full as can be."""

from collections.abc import Sequence

__all__ = ["best_fit", "filled", "first_fit"]


def first_fit(pieces: Sequence[int], stock: int, kerf: int) -> list[list[int]]:
    """Put each piece, by falling length, on the first stick with room."""
    return _fit(pieces, stock, kerf, tightest=False)


def best_fit(pieces: Sequence[int], stock: int, kerf: int) -> list[list[int]]:
    """Put each piece, by falling length, on the stick where it fits tightest."""
    return _fit(pieces, stock, kerf, tightest=True)


def _fit(pieces: Sequence[int], stock: int, kerf: int, *, tightest: bool) -> list[list[int]]:
    room: list[int] = []
    cut: list[list[int]] = []
    for piece in pieces:
        fits = [number for number, free in enumerate(room) if free >= piece + kerf]
        if not fits:
            room.append(stock + kerf)
            cut.append([])
            fits = [len(room) - 1]
        number = min(fits, key=lambda n: room[n]) if tightest else fits[0]
        room[number] -= piece + kerf
        cut[number].append(piece)
    return cut


def filled(pieces: Sequence[int], stock: int, kerf: int) -> list[list[int]]:
    """Fill one stick after another: the longest piece left, and of the others those that leave the least over."""
    left = sorted(pieces, reverse=True)
    cut: list[list[int]] = []
    while left:
        first, others = left[0], left[1:]
        chosen = _fullest(others, stock - first, kerf)
        cut.append([first, *(others[number] for number in chosen)])
        left = [piece for number, piece in enumerate(others) if number not in chosen]
    return cut


def _fullest(pieces: Sequence[int], room: int, kerf: int) -> set[int]:
    """Numbers of the pieces that fill a room best: a subset sum over the reachable totals, longest pieces first."""
    reached, firsts = 1, list[int]()  # bit by bit the totals reached, and those that each piece reached first
    for piece in pieces:
        firsts.append((reached << piece + kerf) & ((2 << room) - 1) & ~reached)
        reached |= firsts[-1]
        if reached >> room & 1:
            break
    total, chosen = reached.bit_length() - 1, set()
    for number in reversed(range(len(firsts))):
        if firsts[number] >> total & 1:
            chosen.add(number)
            total -= pieces[number] + kerf
    return chosen
