"""The web application in the browser: which address it listens on, and what the terminal shows."""

import io
import socket
import threading
import webbrowser
from pathlib import Path

import segno
import typer
import uvicorn

from rillwright.api.app import create_app
from rillwright.api.guard import Sharing
from rillwright.api.pairing import Pairing, pairing_link
from rillwright.errors import InputError

__all__ = ["serve_page"]

_LOOPBACK = "127.0.0.1"
_NOWHERE = ("192.0.2.1", 9)  # documentation address, RFC 5737: shows by which of its own a machine would go out


def serve_page(folder: Path, *, port: int, share: bool, browser: bool) -> None:
    """Serve until interrupted.

    Parameters: folder of the data; port, 0 for any that is free; share, whether to listen on the network; browser,
    whether to open one. Errors: InputError when the port is taken or the folder cannot be used.
    """
    listener = _listener("0.0.0.0" if share else _LOOPBACK, port)
    number = listener.getsockname()[1]
    home = f"http://{_LOOPBACK}:{number}"
    sharing = None
    if share:
        names = {socket.gethostname().lower(), f"{socket.gethostname().lower()}.local"}
        outside = f"http://{_own_address()}:{number}"
        sharing = Sharing(Pairing(lambda code: _show_code(outside, code)), outside, frozenset(names))
    app = create_app(folder, sharing=sharing)
    typer.echo(f"Rillwright is at {home} on this machine; yards are kept in {folder}. Ctrl-C ends it.")
    config = uvicorn.Config(
        app, log_level="warning", server_header=False, proxy_headers=False, timeout_graceful_shutdown=2
    )
    if browser:
        threading.Timer(1.0, webbrowser.open, (home,)).start()
    uvicorn.Server(config).run(sockets=[listener])


def _listener(address: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
    except OSError as error:
        listener.close()
        raise InputError(f"port {port} cannot be listened on: {error.strerror}. Choose another --port.") from None
    return listener


def _own_address() -> str:
    """Address of this machine on its network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)  # sends nothing
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def _show_code(address: str, code: str) -> None:
    picture = io.StringIO()
    segno.make(pairing_link(address, code), micro=False).terminal(picture, compact=True)
    typer.echo(
        f"{picture.getvalue()}\nShared on the network, unencrypted: use it on a network you trust. Let the phone's "
        f"camera read the picture, or open {address} and type\n{code}  (for one device; the next code follows)"
    )
