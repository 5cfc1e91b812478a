"""Yards in and out: yard files, GeoJSON and DXF."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rillwright.errors import InputError
from rillwright.model.site import Yard

__all__ = ["load_pieces", "load_yard", "save_yard"]


def load_yard(path: Path, *, facts: Path | None = None, layers: Mapping[str, str] | None = None) -> Yard:
    """Read a yard from a file, by its suffix: .json (also .yard.json), .geojson or .dxf.

    Parameters: path; facts, a yard file without areas that holds what a drawing cannot say: needed for .dxf,
    optional for .geojson, refused for .json; layers, what further layers of a .dxf hold, see read_dxf.
    Errors: YardError or InputError.
    """
    suffix = path.suffix.lower()
    if layers and suffix != ".dxf":
        raise InputError(f"{path.name} has no layers: leave --layer out")
    if suffix == ".geojson":
        from rillwright.exchange.geojson import read_geojson

        return read_geojson(path, facts=facts)
    if suffix == ".dxf":
        from rillwright.exchange.dxf import read_dxf

        if facts is None:
            raise InputError(f"{path.name} is a drawing: give the file of yard facts that goes with it as well")
        return read_dxf(path, facts=facts, layers=layers)
    if suffix == ".json":
        from rillwright.exchange.yard_file import read_yard

        if facts is not None:
            raise InputError(f"{path.name} holds all facts itself: leave the other file out")
        return read_yard(path)
    raise InputError(f"{path} is no kind of file this program reads: use .json, .geojson or .dxf")


def load_pieces(path: Path, *, document: Mapping[str, Any], layers: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Read what a drawing, .geojson or .dxf, would add to a yard document, by that document's keys and in its units.

    Errors: YardError or InputError.
    """
    suffix = path.suffix.lower()
    if suffix == ".geojson":
        from rillwright.exchange.geojson import geojson_pieces

        return geojson_pieces(path, document=document)
    if suffix == ".dxf":
        from rillwright.exchange.dxf import dxf_pieces
        from rillwright.exchange.yard_file import check_heading

        check_heading(document, source="the yard")
        return dxf_pieces(path, system=document["units"], layers=layers)
    raise InputError(f"{path.name} is no drawing this program reads: use .geojson or .dxf")


def save_yard(yard: Yard, path: Path, *, overwrite: bool = False) -> None:
    """Write a yard in the format that the suffix names: .json (also .yard.json) or .geojson.

    Errors: InputError when the file exists and may not be replaced, cannot be written, or has another suffix.
    """
    suffix = path.suffix.lower()
    if suffix == ".geojson":
        from rillwright.exchange.geojson import write_geojson

        write_geojson(yard, path, overwrite=overwrite)
    elif suffix == ".json":
        from rillwright.exchange.yard_file import write_yard

        write_yard(yard, path, overwrite=overwrite)
    else:
        raise InputError(f"{path.name} is no kind of file this program writes a yard to: use .json or .geojson")
