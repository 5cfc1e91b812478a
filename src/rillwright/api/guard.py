"""What stands before every route: who may ask, from which page, how much may be sent, and what browsers may do.

Host is checked against names that cannot be rebound by somebody else's name server; Origin and Sec-Fetch-Site against
other sites that a visitor has open. Over the network a session's cookie is needed for everything but pairing.
"""

import ipaddress
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from rillwright.api.pairing import Pairing
from rillwright.api.problems import problem_response

__all__ = ["CSP", "LARGEST_BODY", "Guard", "Sharing", "Trust", "names_this_machine"]

LARGEST_BODY = 21_000_000  # [bytes]
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)

_HEADERS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), camera=(self)",
}
_LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})
_OPEN = frozenset({"/api/health", "/api/session", "/api/pair"})  # without a session


@dataclass(frozen=True, slots=True)
class Trust:
    """What a device must trust once, to be served encrypted."""

    address: str  # of the page that hands the certificate out
    fingerprint: str  # SHA-256


@dataclass(frozen=True, slots=True)
class Sharing:
    """How the program is shared on the network."""

    pairing: Pairing
    address: str  # that other devices open
    names: frozenset[str] = field(default_factory=frozenset)  # of this machine, that a browser may use, lower case
    trust: Trust | None = None  # None when it is served unencrypted

    @property
    def secure(self) -> bool:
        """Whether the network is served by TLS, and not otherwise."""
        return self.trust is not None

    @property
    def cookie(self) -> str:
        """Name of the session's cookie; the prefix binds it to this very host and to TLS (RFC 6265bis)."""
        return "__Host-rillwright-session" if self.secure else "rillwright-session"


class Guard:
    """ASGI middleware; without `sharing` only this machine is served."""

    def __init__(self, app: ASGIApp, *, sharing: Sharing | None = None) -> None:
        self._app = app
        self._sharing = sharing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        send = _with_headers(send, keep=_keep(scope["path"]))
        fault = await self._fault(scope)
        if fault is not None:
            await problem_response(fault[0], fault[1])(scope, receive, send)
            return
        await self._app(scope, _limited(receive), send)

    async def _fault(self, scope: Scope) -> tuple[int, str] | None:
        """Status and words when a request is refused."""
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if not names_this_machine(scope, None if self._sharing is None else self._sharing.names):
            return 421, "This address does not name this program: use the one that it showed when it was started."
        origins = headers.getlist("origin")
        if any(origin != f"{scope.get('scheme', 'http')}://{hosts[0]}" for origin in origins):
            return 403, "Another site asked for this: only this program's own page may."
        api = scope["path"].startswith("/api")
        if api and headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            return 403, "Another site asked for this: only this program's own page may."
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length[:20]) > LARGEST_BODY:
            return 413, f"At most {LARGEST_BODY / 1e6:.0f} MB can be sent at once: send less."
        here = _name(hosts[0]) in _LOOPBACK and _is_loopback((scope.get("client") or ("", 0))[0])
        scope["rillwright.here"] = here
        if self._sharing is not None and self._sharing.secure and not here and scope.get("scheme") != "https":
            return 403, "Over the network this is served encrypted only: use the https address that is shown."
        scope["rillwright.let_in"] = not api or await self._let_in(scope, headers)
        if api and scope["path"] not in _OPEN and not scope["rillwright.let_in"]:
            return 401, "This device is not paired: type the code that the program shows where it runs."
        return None

    async def _let_in(self, scope: Scope, headers: Headers) -> bool:
        """Whether the session is known, or the request comes from this machine by its own name."""
        if self._sharing is None or scope["rillwright.here"]:
            return True
        try:
            cookie = SimpleCookie(headers.get("cookie", "")).get(self._sharing.cookie)
        except CookieError:
            return False
        if cookie is None:
            return False
        return await run_in_threadpool(scope["app"].state.store.devices.knows, cookie.value)


def names_this_machine(scope: Scope, names: frozenset[str] | None) -> bool:
    """Whether a request's Host is a name that no foreign name server can point here.

    Parameters: names of this machine on the network, beside the address that was reached; None when not shared.
    """
    hosts = Headers(scope=scope).getlist("host")
    name = _name(hosts[0]) if len(hosts) == 1 else None
    if name is None or name in _LOOPBACK or names is None:
        return name in _LOOPBACK
    return name in names or (_is_address(name) and name.strip("[]") == (scope.get("server") or ("", None))[0])


def _name(host: str) -> str | None:
    """Host without its port, in lower case; None when it cannot be one."""
    name, colon, port = host.rpartition(":") if not host.endswith("]") else (host, "", "")
    if not colon:
        name = host
    elif not (port.isascii() and port.isdigit()):
        return None
    return name.lower() or None


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _is_loopback(peer: str) -> bool:
    try:
        return ipaddress.ip_address(peer).is_loopback
    except ValueError:
        return False


def _keep(path: str) -> str:
    """How long a browser may hold an answer: what the page is built of has a name for each content."""
    if path.startswith("/assets/"):
        return "public, max-age=31536000, immutable"
    return "no-store" if path.startswith("/api/") else "no-cache"


def _with_headers(send: Send, *, keep: str) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", keep if message["status"] < 400 else "no-store")
        await send(message)

    return sending


def _limited(receive: Receive) -> Receive:
    """Count what is sent, whatever its stated length."""
    got = 0

    async def receiving() -> Message:
        nonlocal got
        message = await receive()
        if message["type"] == "http.request":
            got += len(message.get("body", b""))
            if got > LARGEST_BODY:
                raise HTTPException(413, f"At most {LARGEST_BODY / 1e6:.0f} MB can be sent at once: send less.")
        return message

    return receiving
