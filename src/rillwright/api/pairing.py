"""Pairing: a code that is shown where the program runs lets one device in, once."""

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable

__all__ = ["COOKIE", "SESSION_LASTS", "Pairing", "TooManyAttemptsError", "pairing_link"]

COOKIE = "rillwright-session"
SESSION_LASTS = 30 * 24 * 3600  # [s]

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # none that is easily taken for another
_LENGTH = 8  # 40 bits
_MOST_SESSIONS = 20
_ATTEMPTS = 5  # of one peer in a window
_ALL_ATTEMPTS = 20  # of all peers together in a window
_WINDOW = 60.0  # [s]


class TooManyAttemptsError(Exception):
    """Too many codes were tried lately."""


class Pairing:
    """The current code, and the sessions of devices that gave one."""

    def __init__(self, show: Callable[[str], None], *, clock: Callable[[], float] = time.monotonic) -> None:
        """Show, called with each new code."""
        self._show = show
        self._clock = clock
        self._lock = threading.Lock()
        self._tries: deque[tuple[float, str]] = deque()
        self._sessions: dict[str, float] = {}  # digest of the token: when it ends
        self._renew()

    @property
    def code(self) -> str:
        """The code that lets the next device in, as it is shown."""
        return f"{self._code[:4]}-{self._code[4:]}"

    def redeem(self, code: str, *, peer: str) -> str | None:
        """Give a session's token for the right code, which is then used up; None for a wrong one.

        Errors: TooManyAttemptsError.
        """
        with self._lock:
            self._count(peer)
            typed = "".join(code.split()).replace("-", "").upper()
            if not hmac.compare_digest(typed.encode(), self._code.encode()):
                return None
            token = secrets.token_urlsafe(32)
            while len(self._sessions) >= _MOST_SESSIONS:
                del self._sessions[next(iter(self._sessions))]
            self._sessions[_digest(token)] = self._clock() + SESSION_LASTS
            self._renew()
            return token

    def knows(self, token: str) -> bool:
        """Whether a token is that of a session which has not ended."""
        return self._sessions.get(_digest(token), 0.0) > self._clock()

    def _count(self, peer: str) -> None:
        now = self._clock()
        while self._tries and self._tries[0][0] < now - _WINDOW:
            self._tries.popleft()
        if len(self._tries) >= _ALL_ATTEMPTS or sum(who == peer for _, who in self._tries) >= _ATTEMPTS:
            raise TooManyAttemptsError
        self._tries.append((now, peer))

    def _renew(self) -> None:
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        self._show(self.code)


def pairing_link(address: str, code: str) -> str:
    """Address that opens the page with the code typed in; what follows '#' is not sent over the network."""
    return f"{address}/#pair={code}"


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
