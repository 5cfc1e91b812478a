"""Devices that were let in over the network, in the terminal."""

from collections.abc import Sequence

import typer
from rich.console import Console
from rich.table import Table

from rillwright.errors import InputError
from rillwright.store.devices import Device, Devices

__all__ = ["print_devices", "turn_out_device"]


def print_devices(found: Sequence[Device]) -> None:
    """Show devices, the last seen first."""
    if not found:
        typer.echo("No device is let in.")
        return
    table = Table("name", "let in", "last seen", "id", title=f"{len(found)} let in", title_justify="left")
    for device in found:
        when = [f"{moment.astimezone():%Y-%m-%d %H:%M}" for moment in (device.let_in, device.seen)]
        table.add_row(device.name, *when, str(device.id))
    Console().print(table)


def turn_out_device(devices: Devices, which: str) -> None:
    """Turn out the one device of a name or id. Errors: InputError when there is none or there are several."""
    found = [device for device in devices.all() if which in (device.name, str(device.id))]
    if len(found) != 1:
        told = (
            f"{len(found)} devices have that name: give the id" if found else "no device of that name or id is let in"
        )
        raise InputError(f"--turn-out {which}: {told}; `rillwright devices` lists them.")
    devices.turn_out(found[0].id)
    typer.echo(f"Turned out: {found[0].name}.")
