"""How benchmarks time a piece of work."""

import time
from collections.abc import Callable

__all__ = ["least_time"]


def least_time(work: Callable[[], object], *, repeats: int = 5) -> float:
    """Least processor time [s] of a few runs, after one to warm up that is not counted."""
    work()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)
