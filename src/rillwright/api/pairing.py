"""Pairing: a code that is shown where the program runs lets one device in, once."""

import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable

__all__ = ["Pairing", "TooManyAttemptsError", "pairing_link"]

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # none that is easily taken for another
_LENGTH = 8  # 40 bits: a whole network of 250 addresses needs some 800 years to try half of all codes
_ATTEMPTS = 5  # of one address in a window; nobody is kept out by another's tries
_WINDOW = 60.0  # [s]


class TooManyAttemptsError(Exception):
    """Too many codes were tried lately from one address."""


class Pairing:
    """The current code, and who tried it lately."""

    def __init__(self, show: Callable[[str], None], *, clock: Callable[[], float] = time.monotonic) -> None:
        """Show, called with each new code."""
        self._show = show
        self._clock = clock
        self._lock = threading.Lock()
        self._tries: dict[str, deque[float]] = {}
        self._renew()

    @property
    def code(self) -> str:
        """The code that lets the next device in, as it is shown."""
        return f"{self._code[:4]}-{self._code[4:]}"

    def redeem(self, code: str, *, peer: str) -> bool:
        """Whether this is the code, which is then used up.

        Parameters: peer, address that it came from. Errors: TooManyAttemptsError.
        """
        with self._lock:
            self._count(peer)
            typed = "".join(code.split()).replace("-", "").upper()
            right = hmac.compare_digest(typed.encode(), self._code.encode())
            if right:
                self._renew()
            return right

    def _count(self, peer: str) -> None:
        now = self._clock()
        for other, tries in list(self._tries.items()):
            while tries and tries[0] < now - _WINDOW:
                tries.popleft()
            if not tries:
                del self._tries[other]
        own = self._tries.setdefault(peer, deque())
        if len(own) >= _ATTEMPTS:
            raise TooManyAttemptsError
        own.append(now)

    def _renew(self) -> None:
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        self._show(self.code)


def pairing_link(address: str, code: str) -> str:
    """Address that opens the page with the code typed in; what follows '#' is not sent over the network."""
    return f"{address}/#pair={code}"
