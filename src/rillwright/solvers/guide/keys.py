"""Keys of items: what a thing is and where it lies, to a decimetre, whatever it is called in one plan."""

from collections.abc import Sequence

from rillwright.model.plan import Head, Pipe, Trench

__all__ = ["ends", "filled_key", "group", "head_key", "pipe_key", "point", "trench_key"]

LONGEST = 120  # letters, as the store keeps them

Point = tuple[float, float]


def point(at: Point) -> str:
    """Place to a decimetre, as near as a head is set.

    >>> point((-0.04, 2.26))
    '0.0,2.3'
    """
    return ",".join(f"{value + 0.0:.1f}".replace("-0.0", "0.0") if abs(value) < 0.1 else f"{value:.1f}" for value in at)


def ends(path: Sequence[Point]) -> str:
    """Both ends of a line, whichever way it runs."""
    return " ".join(sorted((point(path[0]), point(path[-1]))))


def head_key(head: Head) -> str:
    """Key of a head with its nozzle."""
    return f"head:{head.nozzle}:{point(head.at)}"[:LONGEST]


def pipe_key(pipe: Pipe) -> str:
    """Key of a run of pipe."""
    return f"pipe:{pipe.size} {pipe.material}:{ends(pipe.path)}"


def trench_key(trench: Trench) -> str:
    """Key of a stretch of trench."""
    return f"trench:{ends(trench.path)}"


def filled_key(trench: Trench) -> str:
    """Key of a stretch of trench that is filled again."""
    return f"filled:{ends(trench.path)}"


def group(keys: Sequence[str]) -> str:
    """Short name of a set of keys, whatever their order: FNV-1a, 32 bits (Fowler, Noll and Vo, from memory).

    >>> group(["a", "b"]) == group(["b", "a"])
    True
    """
    number = 0x811C9DC5
    for byte in "|".join(sorted(keys)).encode():
        number = (number ^ byte) * 0x01000193 & 0xFFFFFFFF
    return f"{number:08x}"
