"""Where the next cups tell most of what these leave open."""

import numpy as np

from rillwright.solvers.cups.law import by_eye
from rillwright.solvers.cups.picture import Picture
from rillwright.solvers.cups.wrongs import Land

__all__ = ["next_cups"]


def next_cups(picture: Picture, land: Land, *, count: int = 3) -> tuple[tuple[float, float], ...]:
    """Spots on the ground [m] for so many more cups, the one that tells most of how the heads stand first.

    One after the other, each where the depth over all states is most uncertain against what it is under one, given the
    cups chosen before: greedy for mutual information, taken as if normal. Source: Krause, Singh and Guestrin (2008),
    from memory. Each new cup is read by eye.
    """
    part = picture.parts[0]
    noise = by_eye(part.mean) ** 2
    within = part.root @ part.root.T
    whole = within + picture.apart.T @ picture.apart
    x, y = (values[land.cells] for values in land.grid.centres())
    found: list[tuple[float, float]] = []
    for _ in range(count):
        k = int(np.argmax((np.diag(whole) + noise) / (np.diag(within) + noise)))
        found.append((float(x[k]), float(y[k])))
        whole, within = (cover - np.outer(cover[k], cover[k]) / (cover[k, k] + noise[k]) for cover in (whole, within))
    return tuple(found)
