"""The field log, ticks, photos, and images under the drawing."""

import uuid
from typing import Annotated

from fastapi import APIRouter, File, Query, Response, UploadFile
from pydantic import AwareDatetime, BaseModel, Field

from rillwright.api.desk_access import TheSite, TheStore
from rillwright.api.files import file_response
from rillwright.exchange.log_file import log_lines
from rillwright.model.field_log import Entry
from rillwright.store.field_log import Receipt, StoredEntry, Tick
from rillwright.store.pictures import Image, Photo, Placement

__all__ = ["router"]

router = APIRouter(prefix="/api/yards/{yard}", tags=["field"])

Step = Annotated[str, Field(min_length=1, max_length=120)]
PictureFile = Annotated[UploadFile, File(description="PNG, JPEG or WebP, at most 20 MB")]


class Batch(BaseModel):
    """Entries in the order in which they were made."""

    entries: Annotated[list[Entry], Field(max_length=500)]


class TickIn(BaseModel):
    """Whether a step is done."""

    id: uuid.UUID  # made by the sender
    done: bool
    made: AwareDatetime  # by the clock of who ticked
    over: uuid.UUID | None = None  # the word on this step that the sender had seen


@router.get("/log")
def read_log(
    store: TheStore,
    yard: uuid.UUID,
    *,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
    most: Annotated[int, Query(ge=1, le=1000)] = 500,
) -> list[StoredEntry]:
    """Entries in order of arrival, after a seq."""
    return store.log.entries(yard, after=after, most=most)


@router.post("/log")
def append_log(site: TheSite, yard: uuid.UUID, body: Batch) -> list[Receipt]:
    """Keep entries in their order. Send a batch again as often as needed: what is here already is not kept twice.

    What can hardly be is 'asked' and not kept; send it again with what it asks in `confirmed` when it is so.
    """
    return site.keep(yard, body.entries)


@router.get("/log/file", response_class=Response)
def log_file(store: TheStore, yard: uuid.UUID) -> Response:
    """The whole log as JSON lines, ticks too, as the command line takes it."""
    return file_response("log.jsonl", log_lines(store.log.whole(yard)), download=True)


@router.get("/ticks")
def list_ticks(store: TheStore, yard: uuid.UUID) -> list[Tick]:
    """Steps of the work that were ever ticked."""
    return store.log.ticks(yard)


@router.put("/ticks/{step:path}")
def put_tick(store: TheStore, yard: uuid.UUID, step: Step, body: TickIn) -> Tick:
    """Tick a step off, or on again; what arrives last counts. Send it again as often as needed."""
    return store.log.tick(yard, step, tick=body.id, done=body.done, made=body.made, over=body.over)


@router.put("/photos/{photo}")
def put_photo(store: TheStore, yard: uuid.UUID, photo: uuid.UUID, file: PictureFile) -> Photo:
    """Keep a photo under an id made by the sender; send it again as often as needed."""
    return store.pictures.add_photo(yard, photo, file.file.read())


@router.get("/photos/{photo}", response_class=Response)
def get_photo(store: TheStore, yard: uuid.UUID, photo: uuid.UUID) -> Response:
    """A photo."""
    return _picture(*store.pictures.photo(yard, photo))


@router.get("/images")
def list_images(store: TheStore, yard: uuid.UUID) -> list[Image]:
    """Images under the drawing, oldest first."""
    return store.pictures.images(yard)


@router.post("/images", status_code=201)
def add_image(store: TheStore, yard: uuid.UUID, file: PictureFile) -> Image:
    """Keep an image to draw on, such as a survey."""
    return store.pictures.add_image(yard, file.file.read(), name=file.filename or "image")


@router.get("/images/{image}", response_class=Response)
def get_image(store: TheStore, yard: uuid.UUID, image: uuid.UUID) -> Response:
    """An image."""
    return _picture(*store.pictures.image(yard, image))


@router.put("/images/{image}/placement")
def place_image(store: TheStore, yard: uuid.UUID, image: uuid.UUID, body: Placement) -> Image:
    """Lay an image otherwise: its corner, the size of a pixel, its turn."""
    return store.pictures.place(yard, image, body)


@router.delete("/images/{image}", status_code=204)
def remove_image(store: TheStore, yard: uuid.UUID, image: uuid.UUID) -> None:
    """Take an image away."""
    store.pictures.remove_image(yard, image)


def _picture(data: bytes, media: str) -> Response:
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(data, media_type=media, headers=headers)
