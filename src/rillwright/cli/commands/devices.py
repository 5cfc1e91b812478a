"""`rillwright devices`: who was let in over the network."""

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["devices"]


def devices(
    data: Annotated[Path | None, typer.Option(help="Folder for yards and plans; the system's usual one else")] = None,
    turn_out: Annotated[str, typer.Option(help="Name or id of a device that is to be let in no more")] = "",
) -> None:
    """List the devices that were let in over the network, or turn one out."""
    from contextlib import closing

    from rillwright.cli.devices_told import print_devices, turn_out_device
    from rillwright.store import Store, default_folder

    with closing(Store(data or default_folder())) as store:
        if turn_out:
            turn_out_device(store.devices, turn_out)
        print_devices(store.devices.all())
