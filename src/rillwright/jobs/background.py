"""Long work beside a program that goes on answering: worker processes, progress, and a clean stop.

Each worker is one fresh process that does one errand after another. It is asked to stop as a terminal's interrupt would
ask: with a complete result in hand it ends at its next step and gives that, otherwise it gives none.
"""

import contextlib
import os
import queue
import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Literal

from rillwright.errors import RillwrightError, StateError
from rillwright.jobs.errands import Errand
from rillwright.jobs.stop import Stop
from rillwright.model.catalogue import load_catalogue

__all__ = ["Background", "Job", "Listener"]

MOST_WAITING = 20

End = Literal["done", "stopped early", "cancelled", "failed"]
Listener = Callable[["Job"], None]


@dataclass(slots=True)
class Job:
    """One errand on its way; whoever watches reads, the background writes."""

    errand: Errand
    changed: Listener  # called from another thread, when it begins and when it ends
    status: Literal["waiting", "running"] | End = "waiting"
    stage: str = ""  # what is being done, in words
    share: float = 0.0  # of that stage, 0 to 1
    keeps: bool = False  # whether a stop now would give a result
    result: Any = None  # of the errand
    message: str = ""  # why it failed
    asked: threading.Event = field(default_factory=threading.Event)  # to stop

    @property
    def ended(self) -> bool:
        """Whether nothing more will come."""
        return self.status not in ("waiting", "running")


class Background:
    """Workers, and the jobs that wait for them."""

    def __init__(self, *, workers: int = 1) -> None:
        self._waiting: queue.Queue[Job | None] = queue.Queue()
        self._lock = threading.Lock()
        self._hands = [_Hand() for _ in range(workers)]
        self._threads = [threading.Thread(target=self._serve, args=(hand,), daemon=True) for hand in self._hands]
        for thread in self._threads:
            thread.start()

    def start(self, errand: Errand, *, changed: Listener) -> Job:
        """Put a job at the end of the line. Errors: StateError when too many wait."""
        with self._lock:
            if self._waiting.qsize() >= MOST_WAITING:
                raise StateError(f"{MOST_WAITING} pieces of work wait to be done: cancel some, or try again later.")
            job = Job(errand, changed)
            self._waiting.put(job)
        return job

    def cancel(self, job: Job) -> None:
        """Ask a job to end; what it holds that is complete is kept."""
        job.asked.set()
        for hand in self._hands:
            hand.ask_to_stop(job)

    def close(self) -> None:
        """End all workers at once; what they were at is lost."""
        for _ in self._threads:
            self._waiting.put(None)
        for hand in self._hands:
            hand.end()
        for thread in self._threads:
            thread.join(timeout=5)

    def _serve(self, hand: "_Hand") -> None:
        """Give one hand its jobs, for as long as the program runs."""
        while (job := self._waiting.get()) is not None:
            try:
                if not job.asked.is_set():
                    job.status = "running"
                    job.changed(job)
                hand.work(job)
                job.changed(job)
            except Exception as error:  # whatever befell this job, the next ones are not to wait for ever
                self._failed(job, hand, error)

    @staticmethod
    def _failed(job: Job, hand: "_Hand", error: Exception) -> None:
        """Write down, if that can be done, that a job came to nothing; its process is begun anew for the next."""
        hand.let_go()
        if not job.ended:
            job.message, job.status = f"It could not be made or kept: {error}", "failed"
        with contextlib.suppress(Exception):
            job.changed(job)


class _Hand:
    """One worker process, started when it is first needed and again when it was lost."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._job: Job | None = None
        self._process: BaseProcess | None = None
        self._pipe: Any = None
        self._ended = False

    def work(self, job: Job) -> None:
        """Have an errand done, and wait for it."""
        with self._lock:
            if self._ended or job.asked.is_set():
                job.status = "cancelled"
                return
            self._job = job
            if self._process is None or not self._process.is_alive():
                self._begin()
            self._pipe.send(job.errand)
        try:
            while not job.ended:
                self._hear(job, self._pipe.recv())
        except (EOFError, OSError):
            job.message = "The process that was at it was ended from outside, perhaps for want of memory."
            job.status = "cancelled" if self._ended else "failed"
        with self._lock:
            self._job = None
            if job.status in ("cancelled", "failed"):
                self._drop()

    def ask_to_stop(self, job: Job) -> None:
        """Pass a wish to stop on, when this hand has the job."""
        with self._lock:
            if self._job is job and not job.ended:
                self._pipe.send("stop")

    def end(self) -> None:
        """End the process."""
        with self._lock:
            self._ended = True
            self._drop()

    def let_go(self) -> None:
        """Give the job up, and the process with it."""
        with self._lock:
            self._job = None
            self._drop()

    def _begin(self) -> None:
        context = get_context("spawn")
        self._pipe, far = context.Pipe()
        self._process = context.Process(target=_run_errands, args=(far,), daemon=True)
        self._process.start()
        far.close()

    def _drop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process = None

    def _hear(self, job: Job, said: tuple[str, Any]) -> None:
        what, value = said
        if what == "progress":
            job.stage, job.share, job.keeps = value
        elif what == "failed":
            job.message, job.status = value, "failed"
        elif what == "cancelled":
            job.status = "cancelled"
        else:
            early, job.result = value
            job.status = "stopped early" if early else "done"


class _Worker:
    """The other end of the pipe, in the worker process."""

    def __init__(self, pipe: "Connection[Any, Any]") -> None:
        self._pipe = pipe
        self._lock = threading.Lock()  # of the pipe's writing end, and of the current job
        self._stop: Stop | None = None
        self._jobs: queue.Queue[tuple[Errand, Stop]] = queue.Queue()

    def listen(self) -> None:
        """Take jobs and wishes to stop, until the program that sends them is gone."""
        while True:
            try:
                said = self._pipe.recv()
            except (EOFError, OSError):
                os._exit(0)
            with self._lock:
                if said != "stop":
                    self._stop = Stop()
                    self._jobs.put((said, self._stop))
                elif self._stop is not None and self._stop.worth_keeping:
                    self._stop.asked = True
                elif self._stop is not None:
                    self._pipe.send(("cancelled", None))
                    os._exit(0)

    def serve(self) -> None:
        """Do one errand after another."""
        catalogue = load_catalogue()
        while True:
            errand, stop = self._jobs.get()
            try:
                result = errand.run(catalogue, partial(self._tell, stop), stop)
                said: tuple[str, Any] = ("done", (stop.asked, result))
            except RillwrightError as error:
                said = ("failed", str(error))
            except Exception as error:
                said = ("failed", f"A fault of this program, {type(error).__name__}: {error}. Please report it.")
            with self._lock:
                self._stop = None
                self._pipe.send(said)

    def _tell(self, stop: Stop, stage: str, share: float) -> None:
        with self._lock:
            self._pipe.send(("progress", (stage, share, stop.worth_keeping)))


def _run_errands(pipe: "Connection[Any, Any]") -> None:
    """Be a worker; an interrupt from the terminal is for the program that asked."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    worker = _Worker(pipe)
    threading.Thread(target=worker.listen, daemon=True).start()
    worker.serve()
