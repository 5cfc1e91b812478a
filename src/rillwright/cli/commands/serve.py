"""`rillwright serve`: the page, on this machine or on the network."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.errors import InputError

__all__ = ["serve"]


def serve(
    port: Annotated[int, typer.Option(help="Port to listen on; 0 takes any that is free", min=0, max=65535)] = 8765,
    data: Annotated[Path | None, typer.Option(help="Folder for yards and plans; the system's usual one else")] = None,
    share: Annotated[bool, typer.Option("--share", help="Listen on the network too, for a phone, by a code")] = False,
    plain: Annotated[
        bool, typer.Option("--plain", help="With --share: unencrypted; phones then keep no copy of the page")
    ] = False,
    open_: Annotated[bool, typer.Option("--open", help="Open the browser")] = False,
) -> None:
    """Serve the page on this machine: draw the yard, see the water, change the plan."""
    from rillwright.cli.serving import serve_encrypted, serve_here, serve_plain
    from rillwright.store import default_folder

    if plain and not share:
        raise InputError("--plain says how the network is served: write --share --plain, or leave it out.")
    serve = serve_plain if plain else serve_encrypted if share else serve_here
    serve(data or default_folder(), port=port, browser=open_)
