"""The web application in the browser: which addresses it listens on, and what the terminal shows."""

import io
import socket
import threading
import webbrowser
from functools import partial
from pathlib import Path

import segno
import typer

from rillwright.api.app import create_app
from rillwright.api.guard import Sharing, Trust
from rillwright.api.pairing import Pairing, pairing_link
from rillwright.cli.servers import Place, listener, serve_together
from rillwright.errors import InputError

__all__ = ["serve_encrypted", "serve_here", "serve_plain"]

_LOOPBACK = "127.0.0.1"
_EVERYWHERE = "0.0.0.0"
_NOWHERE = ("192.0.2.1", 9)  # documentation address, RFC 5737: shows by which of its own a machine would go out


def serve_here(folder: Path, *, port: int, browser: bool) -> None:
    """Serve this machine alone until interrupted.

    Parameters: folder of the data; port, 0 for any that is free; browser, whether to open one. Errors: InputError when
    the port is taken or the folder cannot be used.
    """
    door = listener(_LOOPBACK, port)
    app = create_app(folder)
    _open(folder, door, browser=browser)
    serve_together(app, [Place(app, door)])


def serve_plain(folder: Path, *, port: int, browser: bool) -> None:
    """Serve the network too, unencrypted; parameters and errors as for this machine alone."""
    door = listener(_EVERYWHERE, port)
    address = f"http://{_own_address()}:{_port(door)}"
    sharing = Sharing(Pairing(partial(_show_plain, address)), address, _names())
    app = create_app(folder, sharing=sharing)
    _open(folder, door, browser=browser)
    serve_together(app, [Place(app, door)])


def serve_encrypted(folder: Path, *, port: int, browser: bool) -> None:
    """Serve this machine, the network encrypted at the next port, and the certificate at the one after it.

    Parameters and errors as for this machine alone; also when the machine is on no network, or what is kept of its
    authority cannot be used.
    """
    from rillwright.api.authority import Authority
    from rillwright.api.trust_page import trust_app

    own = _own_address()
    authority = Authority(folder / "tls", names=_names(), address=own)
    home, outside, beside = (
        listener(at, port and port + further) for further, at in enumerate((_LOOPBACK, _EVERYWHERE, _EVERYWHERE))
    )
    address = f"https://{own}:{_port(outside)}"
    trust = Trust(f"http://{own}:{_port(beside)}", authority.fingerprint)
    _show_trust(trust, made_now=authority.made_now)
    sharing = Sharing(Pairing(partial(_show_encrypted, address)), address, _names(), trust)
    app = create_app(folder, sharing=sharing)
    _open(folder, home, browser=browser)
    serve_together(
        app,
        [
            Place(app, home),
            Place(app, outside, authority.renew),
            Place(trust_app(authority, address=address), beside),
        ],
    )


def _port(door: socket.socket) -> int:
    return int(door.getsockname()[1])


def _names() -> frozenset[str]:
    """Names of this machine, as its network may know it."""
    own = socket.gethostname().lower()
    return frozenset({own, f"{own.partition('.')[0]}.local"})


def _own_address() -> str:
    """Address of this machine on its network. Errors: InputError when it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)  # sends nothing
        except OSError:
            told = "This machine is on no network that a phone could reach it by: connect it, or leave --share out."
            raise InputError(told) from None
        return str(probe.getsockname()[0])


def _open(folder: Path, door: socket.socket, *, browser: bool) -> None:
    home = f"http://{_LOOPBACK}:{_port(door)}"
    typer.echo(f"Rillwright is at {home} on this machine; yards are kept in {folder}. Ctrl-C ends it.")
    if browser:
        threading.Timer(1.0, webbrowser.open, (home,)).start()


def _show_trust(trust: Trust, *, made_now: bool) -> None:
    new = "A certificate authority was made for this machine and network. " if made_now else ""
    typer.echo(
        f"{new}Once on each phone, open {trust.address} and follow it. The certificate there must have the "
        f"fingerprint\n{trust.fingerprint}\n"
    )


def _show_encrypted(address: str, code: str) -> None:
    _show_code(address, code, "Shared on the network, encrypted.")


def _show_plain(address: str, code: str) -> None:
    _show_code(
        address,
        code,
        "Shared on the network, unencrypted: use it on a network you trust. Phones keep no copy of the page, so it "
        "cannot be installed, or opened again while there is no connection.",
    )


def _show_code(address: str, code: str, words: str) -> None:
    picture = io.StringIO()
    segno.make(pairing_link(address, code), micro=False).terminal(picture, compact=True)
    typer.echo(
        f"{picture.getvalue()}\n{words} Let the phone's camera read the picture, or open {address} and type\n"
        f"{code}  (for one device; the next code follows)"
    )
