"""Photos of the field log, and images that lie under the drawing. Their bytes are files named by their hash."""

import hashlib
import os
import tempfile
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy import select
from sqlalchemy.orm import Session

from rillwright.errors import InputError, NotFoundError, StateError
from rillwright.model.quantities import XY, Angle, Share
from rillwright.store.database import Database, now
from rillwright.store.schema import ImageRow, PhotoRow, YardRow

__all__ = ["LARGEST_PICTURE", "MOST_PICTURES", "Image", "Photo", "Pictures", "Placement"]

LARGEST_PICTURE = 20_000_000  # [bytes]
MOST_PICTURES = 2000  # of one yard

_HEADS: tuple[tuple[bytes, int, bytes, str], ...] = (  # start, where more follows, that, media type
    (b"\x89PNG\r\n\x1a\n", 0, b"", "image/png"),
    (b"\xff\xd8\xff", 0, b"", "image/jpeg"),
    (b"RIFF", 8, b"WEBP", "image/webp"),
)


class Placement(BaseModel):
    """How an image lies on the plan: its lower left corner, the size of a pixel, and a turn about that corner."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: XY = (0.0, 0.0)  # [m]
    metres_per_pixel: float = Field(default=0.05, gt=0, le=100, allow_inf_nan=False)
    turn: Angle = 0.0  # [°] counter-clockwise
    opacity: Share = 0.6


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of the field log."""

    id: uuid.UUID
    media: str
    size: int  # [bytes]
    received: datetime


@dataclass(frozen=True, slots=True)
class Image:
    """An image under the drawing."""

    id: uuid.UUID
    name: str
    media: str
    size: int  # [bytes]
    made: datetime
    placement: Placement


class Pictures:
    """The pictures of a store."""

    def __init__(self, database: Database, folder: Path) -> None:
        self._database = database
        self._folder = folder

    def add_photo(self, yard: uuid.UUID, photo: uuid.UUID, data: bytes) -> Photo:
        """Keep a photo under the id that its sender gave it; the same one sent again is kept once.

        Errors: NotFoundError; InputError for what is no picture; StateError when another photo has the id.
        """
        media, digest = media_of(data), hashlib.sha256(data).hexdigest()
        with self._database.session() as session:
            _check_room(session, yard)
            row = session.get(PhotoRow, photo)
            if row is None:
                self._write(digest, data)
                row = PhotoRow(id=photo, yard=yard, sha256=digest, media=media, size=len(data), received=now())
                session.add(row)
            elif (row.yard, row.sha256) != (yard, digest):
                raise StateError("Another photo has this id: give this one an id of its own.")
            return Photo(row.id, row.media, row.size, row.received)

    def photo(self, yard: uuid.UUID, photo: uuid.UUID) -> tuple[bytes, str]:
        """Bytes and media type of a photo. Errors: NotFoundError."""
        with self._database.session() as session:
            row = session.get(PhotoRow, photo)
            if row is None or row.yard != yard:
                raise NotFoundError("photo", photo)
            return self._read(row.sha256), row.media

    def add_image(self, yard: uuid.UUID, data: bytes, *, name: str) -> Image:
        """Keep an image to lie under the drawing. Errors: NotFoundError; InputError for what is no picture."""
        media, digest = media_of(data), hashlib.sha256(data).hexdigest()
        with self._database.session() as session:
            _check_room(session, yard)
            self._write(digest, data)
            row = ImageRow(
                id=uuid.uuid4(), yard=yard, name=name[:120], sha256=digest, media=media, size=len(data), made=now(),
                placement=Placement().model_dump(mode="json"),
            )  # fmt: skip
            session.add(row)
            return _image(row)

    def images(self, yard: uuid.UUID) -> list[Image]:
        """Images of a yard, oldest first. Errors: NotFoundError."""
        with self._database.session() as session:
            _check_yard(session, yard)
            asked = select(ImageRow).where(ImageRow.yard == yard).order_by(ImageRow.made, ImageRow.id)
            return [_image(row) for row in session.scalars(asked)]

    def image(self, yard: uuid.UUID, image: uuid.UUID) -> tuple[bytes, str]:
        """Bytes and media type of an image. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _image_row(session, yard, image)
            return self._read(row.sha256), row.media

    def place(self, yard: uuid.UUID, image: uuid.UUID, placement: Placement) -> Image:
        """Lay an image otherwise. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _image_row(session, yard, image)
            row.placement = placement.model_dump(mode="json")
            return _image(row)

    def remove_image(self, yard: uuid.UUID, image: uuid.UUID) -> None:
        """Take an image away. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _image_row(session, yard, image)
            session.delete(row)
            session.flush()
            self.let_go(session, {row.sha256})

    def files_of(self, session: Session, yard: uuid.UUID) -> set[str]:
        """Files of a yard's pictures, by hash."""
        return {h for t in (PhotoRow, ImageRow) for h in session.scalars(select(t.sha256).where(t.yard == yard))}

    def let_go(self, session: Session, files: Iterable[str]) -> None:
        """Delete those of these files that no picture has any more, before the session ends: none outlives its row."""
        for digest in files:
            if not any(session.scalars(select(t.id).where(t.sha256 == digest)).first() for t in (PhotoRow, ImageRow)):
                (self._folder / digest[:2] / digest).unlink(missing_ok=True)

    def _write(self, digest: str, data: bytes) -> None:
        """Write a file whole or not at all."""
        target = self._folder / digest[:2] / digest
        if target.exists() and target.stat().st_size == len(data):
            return
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(target)

    def _read(self, digest: str) -> bytes:
        try:
            return (self._folder / digest[:2] / digest).read_bytes()
        except FileNotFoundError:
            raise NotFoundError("picture file", digest) from None


def media_of(data: bytes) -> str:
    """Media type of a picture, by its first bytes. Errors: InputError for anything but PNG, JPEG and WebP."""
    if len(data) > LARGEST_PICTURE:
        told = f"{len(data) / 1e6:.1f} MB; at most {LARGEST_PICTURE / 1e6:.0f} MB is kept"
        raise InputError(f"The picture has {told}. Make it smaller.")
    for start, offset, more, media in _HEADS:
        if data.startswith(start) and data[offset : offset + len(more)] == more:
            return media
    raise InputError("This is no picture that can be shown: use PNG, JPEG or WebP.")


def _check_yard(session: Session, yard: uuid.UUID) -> None:
    if session.get(YardRow, yard) is None:
        raise NotFoundError("yard", yard)


def _check_room(session: Session, yard: uuid.UUID) -> None:
    _check_yard(session, yard)
    held = sum(len(session.scalars(select(t.id).where(t.yard == yard)).all()) for t in (PhotoRow, ImageRow))
    if held >= MOST_PICTURES:
        raise StateError(f"This yard holds {held} pictures, the most there may be: take some away first.")


def _image_row(session: Session, yard: uuid.UUID, image: uuid.UUID) -> ImageRow:
    row = session.get(ImageRow, image)
    if row is None or row.yard != yard:
        raise NotFoundError("image", image)
    return row


def _image(row: ImageRow) -> Image:
    return Image(row.id, row.name, row.media, row.size, row.made, Placement.model_validate(row.placement))
