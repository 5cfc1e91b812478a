"""How benchmarks time a piece of work."""

import resource
import time
from collections.abc import Callable

__all__ = ["least_time", "worked"]


def least_time(work: Callable[[], object], *, repeats: int = 5) -> float:
    """Least processor time [s] of a few runs, after one to warm up that is not counted."""
    work()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def worked() -> float:
    """Processor time [s] of this process and of the helpers that have ended."""
    return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
