"""Files that a user hands over: put into a folder for as long as they are read."""

import json
import tempfile
import uuid
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, nullcontext
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Annotated, Any

from fastapi import Form, UploadFile

from rillwright.api.documents import checked
from rillwright.errors import InputError
from rillwright.exchange import load_pieces, load_yard
from rillwright.exchange.weather import is_normals, load_weather, with_later_days
from rillwright.exchange.yard_file import read_json, yard_text
from rillwright.model.bench_parts import BenchBodies, load_bodies
from rillwright.model.weather import DailyWeather
from rillwright.store import Store
from rillwright.store.kept_files import KeptFile

__all__ = [
    "LayersForm",
    "days_in",
    "named_layers",
    "sent_bodies",
    "uploaded_pieces",
    "uploaded_weather",
    "uploaded_yard",
    "winter_record",
    "with_days_of",
]

LayersForm = Annotated[
    str, Form(description='JSON object: what further .dxf layers hold, {"GRASS": "lawn"}', max_length=20_000)
]
_SUFFIXES = (".json", ".geojson", ".dxf")


def named_layers(text: str) -> dict[str, str]:
    """Read what layers hold. Errors: InputError."""
    try:
        layers = json.loads(text)
    except (ValueError, RecursionError):
        layers = None
    if not isinstance(layers, dict) or not all(isinstance(kind, str) for kind in layers.values()):
        raise InputError('layers: write a JSON object, such as {"GRASS": "lawn", "NOTES": "ignore"}')
    return layers


def uploaded_yard(file: UploadFile, facts: UploadFile | None, layers: Mapping[str, str]) -> Mapping[str, Any]:
    """The document in a file: a yard file as it is, a drawing read and checked. Errors: InputError, YardError."""
    with _put(file, facts) as (path, other):
        if path.suffix == ".json" and other is None and not layers:
            document = read_json(path)
        else:
            document = json.loads(yard_text(load_yard(path, facts=other, layers=layers or None)))
    return checked(document)


def uploaded_pieces(file: UploadFile, document: Mapping[str, Any], layers: Mapping[str, str]) -> Mapping[str, Any]:
    """What a drawing would add to a document. Errors: InputError, YardError."""
    with _put(file, None) as (path, _):
        return checked(load_pieces(path, document=document, layers=layers))


@contextmanager
def _weather_file(file: KeptFile) -> Iterator[Path]:
    """A file of weather for as long as it is read; errors do not tell where that was."""
    suffix = PurePath(file.name).suffix.lower()
    with _laid(f"weather{suffix if suffix in ('.csv', '.epw') else '.unknown'}", file.data) as path:
        yield path


def sent_bodies(table: str | None) -> BenchBodies | None:
    """What valves measure, by a table as it was sent; None without one. Errors: TableError."""
    if table is None:
        return None
    with _laid("bodies.csv", table.encode()) as path:
        return load_bodies(path)


@contextmanager
def _laid(name: str, data: bytes) -> Iterator[Path]:
    """A file for as long as it is read; errors do not tell where that was."""
    with tempfile.TemporaryDirectory(prefix="rillwright-") as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        try:
            yield path
        except InputError as error:
            raise type(error)(str(error).replace(f"{folder}/", "")) from None


def uploaded_weather(file: UploadFile) -> KeptFile:
    """A file of weather as it was sent."""
    return KeptFile(file.filename or "weather", file.file.read())


def days_in(file: KeptFile) -> DailyWeather:
    """Days of a file of weather, named as it was. Errors: InputError, TableError for what is no weather."""
    with _weather_file(file) as path:
        return replace(load_weather(path), source=file.name)


def with_days_of(kept: KeptFile | None, later: KeptFile) -> KeptFile:
    """Days of this season that are kept, with those of a later file. Errors: as for with_later_days."""
    with ExitStack() as stack:
        old = None if kept is None else stack.enter_context(_weather_file(kept))
        new = stack.enter_context(_weather_file(later))
        try:
            return KeptFile(later.name, with_later_days(old, new))
        except InputError as error:
            raise type(error)(str(error).replace(new.name, later.name)) from None


@contextmanager
def winter_record(store: Store, yard: uuid.UUID, sent: UploadFile | None = None) -> Iterator[Path | None]:
    """The weather file that counts for winter: the one sent, else the kept one unless it holds months."""
    if sent is not None:
        with _weather_file(uploaded_weather(sent)) as path:
            yield path
        return
    kept = store.files.get(yard, "weather")
    with nullcontext(None) if kept is None else _weather_file(kept) as path:
        yield None if path is None or is_normals(path) else path


@contextmanager
def _put(file: UploadFile, facts: UploadFile | None) -> Iterator[tuple[Path, Path | None]]:
    """Put files into a folder under names of our own; errors do not tell where that was."""
    with tempfile.TemporaryDirectory(prefix="rillwright-") as folder:
        try:
            yield (
                _written(file, Path(folder), "yard"),
                None if facts is None else _written(facts, Path(folder), "facts"),
            )
        except InputError as error:
            if type(error) is InputError:
                raise InputError(str(error).replace(f"{folder}/", "")) from None
            raise


def _written(file: UploadFile, folder: Path, stem: str) -> Path:
    suffix = PurePath(file.filename or "").suffix.lower()
    path = folder / f"{stem}{suffix if suffix in _SUFFIXES else '.unknown'}"
    path.write_bytes(file.file.read())
    return path
