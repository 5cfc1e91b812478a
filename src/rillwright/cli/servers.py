"""Several servers in one process: one application at some addresses, a small page beside it, ended together."""

import asyncio
import socket
import ssl
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import typer
import uvicorn
from starlette.applications import Starlette
from starlette.types import ASGIApp

from rillwright.errors import InputError

__all__ = ["Place", "listener", "serve_together"]

_LOOK = 0.1  # [s]
_RENEWAL = 3600.0  # [s]


@dataclass(frozen=True, slots=True)
class Place:
    """What is served on one socket; `renew` gives a TLS context its certificate, again and again."""

    app: ASGIApp
    socket: socket.socket
    renew: Callable[[ssl.SSLContext], None] | None = None


class _Server(uvicorn.Server):
    """A server that leaves signals to whoever runs several."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def listener(address: str, port: int) -> socket.socket:
    """Listen on a port, 0 for any that is free. Errors: InputError when it is taken."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
    except (OSError, OverflowError) as error:
        listener.close()
        told = error.strerror if isinstance(error, OSError) else "there is no such port"
        raise InputError(f"port {port} cannot be listened on: {told}. Choose another --port.") from None
    return listener


def serve_together(app: Starlette, places: Sequence[Place]) -> None:
    """Start the application, serve at all places until interrupted, and end it."""
    asyncio.run(_serve(app, places))


async def _serve(app: Starlette, places: Sequence[Place]) -> None:
    servers = [_server(place) for place in places]
    with uvicorn.Server.capture_signals(servers[0]):
        async with app.router.lifespan_context(app):
            keeping = asyncio.create_task(_keep_renewed(places, servers))
            serving = [server.serve([place.socket]) for place, server in zip(places, servers, strict=True)]
            await asyncio.gather(*serving, _end_together(servers))
            keeping.cancel()


def _server(place: Place) -> _Server:
    config = uvicorn.Config(
        place.app,
        lifespan="off",
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
    )
    config.load()
    if place.renew is not None:
        config.ssl = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        config.ssl.minimum_version = ssl.TLSVersion.TLSv1_2
        place.renew(config.ssl)
    return _Server(config)


async def _end_together(servers: Sequence[uvicorn.Server]) -> None:
    """When one is told to end, all end."""
    while not any(server.should_exit for server in servers):
        await asyncio.sleep(_LOOK)
    for server in servers:
        server.should_exit = True


async def _keep_renewed(places: Sequence[Place], servers: Sequence[uvicorn.Server]) -> None:
    while True:
        await asyncio.sleep(_RENEWAL)
        for place, server in zip(places, servers, strict=True):
            if place.renew is not None and server.config.ssl is not None:
                _renewed(place.renew, server.config.ssl)


def _renewed(renew: Callable[[ssl.SSLContext], None], context: ssl.SSLContext) -> None:
    try:
        renew(context)
    except InputError as error:
        typer.echo(f"The certificate could not be renewed. {error}", err=True)
