"""An interrupt from the terminal: the first one, once there is something worth keeping, asks the job to end with it."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from rillwright.jobs.stop import Stop

__all__ = ["kept_on_interrupt"]


@contextmanager
def kept_on_interrupt() -> Iterator[Stop]:
    """Turn the first interrupt into a request to stop as soon as the job holds a complete result.

    Before that, and at a second one, an interrupt breaks the job off as usual. Where the caller ignores interrupts,
    that stays so.
    """
    stop = Stop()
    before = signal.getsignal(signal.SIGINT)

    def interrupted(_number: int, _frame: FrameType | None) -> None:
        if stop.asked or not stop.worth_keeping:
            stop.broken_off = True
            raise KeyboardInterrupt
        stop.asked = True

    if before is signal.default_int_handler:
        signal.signal(signal.SIGINT, interrupted)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)
