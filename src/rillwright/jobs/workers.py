"""Independent pieces of a job, spread over processes when the caller brings a pool."""

import gc
import os
import pickle
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import fields
from functools import cached_property, lru_cache
from multiprocessing import get_context, parent_process
from typing import Any, TypeVar

from rillwright import __version__
from rillwright.errors import InputError

__all__ = ["SentOnce", "begin", "cluster", "process_pool", "run_all"]

_PATIENCE = 10  # [s] for a scheduler to answer

Task = TypeVar("Task")
Result = TypeVar("Result")


def run_all(pool: Executor | None, work: Callable[[Task], Result], tasks: Iterable[Task]) -> Iterator[Result]:
    """Do the work for each task and give the results in order; without a pool one after another.

    The results do not depend on the pool. When one of its processes is killed from outside, such as by a system out
    of memory, what is left is done here.
    """
    waiting = list(tasks)
    done = 0
    if pool is not None:
        try:
            for result in pool.map(work, waiting):
                done += 1
                yield result
        except BrokenProcessPool:
            pass
        else:
            return
    yield from map(work, waiting[done:])


def begin(pool: Executor | None, work: Callable[[], Result]) -> Callable[[], Result]:
    """Start a piece of work beside others; call what comes back for its result.

    Without a pool, or when one of its processes was killed from outside, it is done when it is asked for.
    """
    if pool is None:
        return work
    try:
        future = pool.submit(work)
    except BrokenProcessPool:
        return work

    def result() -> Result:
        try:
            return future.result()
        except BrokenProcessPool:
            return work()

    return result


class SentOnce:
    """A dataclass that many pieces of work need: pickled once, and read once in each process that it is sent to."""

    def __reduce__(self) -> tuple[Callable[[bytes], Any], tuple[bytes]]:
        return _read, (self._sent,)

    @cached_property
    def _sent(self) -> bytes:
        values = {one.name: getattr(self, one.name) for one in fields(self)}  # type: ignore[arg-type]
        return pickle.dumps((type(self), values))


@lru_cache(maxsize=4)
def _read(sent: bytes) -> Any:
    kind, values = pickle.loads(sent)
    return kind(**values)


@contextmanager
def process_pool() -> Iterator[Executor | None]:
    """Processes, one for each core up to four; none on a machine of one core.

    On Linux a caller with no thread of its own is forked, so that nothing is imported again; call this before anything
    starts one. Elsewhere fresh processes are started: a script needs the usual `if __name__ == "__main__"` guard. An
    interrupt from the terminal reaches the caller alone, who ends them all; they end too when the caller is killed.
    """
    cores = min(4, os.cpu_count() or 1)
    if cores < 2:
        yield None
        return
    forks = sys.platform == "linux" and threading.active_count() == 1
    if forks:
        _load_solvers()
        gc.freeze()  # what is loaded lives on: no collection walks through it any more, here or in the forked ones
    context = get_context("fork" if forks else "spawn")
    pool = ProcessPoolExecutor(max_workers=cores, mp_context=context, initializer=_end_with_parent)
    with _interrupts_held(), warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of the threads of BLAS, which it ends at a fork itself
        for _ in range(cores):
            pool.submit(os.getpid)  # starts one process each
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        if forks:
            gc.unfreeze()


@contextmanager
def cluster(scheduler: str) -> Iterator[Executor]:
    """Workers of a running Dask cluster, by the address of its scheduler, such as 'tcp://10.0.0.5:8786'.

    Errors: InputError when the optional package is missing, no scheduler answers, or a worker lacks this version.
    """
    try:
        from distributed import Client
    except ImportError:
        raise InputError("a cluster needs the optional extra: install 'rillwright[cluster]'") from None
    try:
        client = Client(scheduler, timeout=_PATIENCE)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TypeError) as error:
        raise InputError(f"no scheduler answers at '{scheduler}': {error or 'it timed out'}") from None
    with client:
        if not client.scheduler_info()["workers"]:
            raise InputError(f"the scheduler at '{scheduler}' has no workers: start some and try again")
        unlike = {host: found for host, found in client.run(_version).items() if found != __version__}
        if unlike:
            told = ", ".join(f"{host} has {found}" for host, found in sorted(unlike.items()))
            raise InputError(f"every worker needs rillwright {__version__}, but {told}: install it there")
        yield client.get_executor()  # type: ignore[no-untyped-call]


def _version() -> str:
    return __version__


def _load_solvers() -> None:
    """Load, once for all processes, what solvers load only when they are called."""
    import highspy  # noqa: F401
    from numba.core.registry import cpu_target
    from ortools.linear_solver import pywraplp  # noqa: F401
    from ortools.sat.python import cp_model  # noqa: F401

    cpu_target.target_context.refresh()  # what compiled code calls: a quarter of a second


def _end_with_parent() -> None:
    """Watch, in a process of the pool, for the end of the one that started it."""

    def watch() -> None:
        parent = parent_process()
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold the terminal's interrupt back; processes that are started meanwhile inherit that, and keep it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
