"""Yards and their revisions."""

import uuid
from collections.abc import Mapping
from pathlib import PurePath
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Query, Response, UploadFile
from pydantic import BaseModel, Field

from rillwright.api.desk_access import TheCatalogue, TheStore
from rillwright.api.documents import JsonObject
from rillwright.api.problems import Problem, problem_response
from rillwright.api.uploads import LayersForm, named_layers, uploaded_yard
from rillwright.errors import StaleError
from rillwright.exchange.check import problems_in
from rillwright.exchange.demo import demo_document
from rillwright.exchange.geojson import geojson_text
from rillwright.exchange.yard_file import document_text, empty_document, validated
from rillwright.physics.units import System
from rillwright.store.merge import ABSENT, changes, merge
from rillwright.store.yards import Revision, RevisionNote, YardNote

__all__ = ["Expected", "router"]

router = APIRouter(prefix="/api/yards", tags=["yards"])

RevisionNumber = Annotated[int, Field(ge=1, le=2**31 - 1)]


class NewYard(BaseModel):
    """A yard to begin with nothing in it."""

    name: Annotated[str, Field(min_length=1, max_length=120)]
    units: System


class Expected(BaseModel):
    """The revision that the page shows."""

    expected: RevisionNumber


class Rename(Expected):
    """A new name."""

    name: Annotated[str, Field(min_length=1, max_length=120)]


class Save(Expected):
    """A changed document, made from the revision that was expected."""

    document: JsonObject
    what: Annotated[str, Field(max_length=200)] = ""  # changed, in words; found by comparing when empty


class Side(BaseModel):
    """A value, or that there is none."""

    present: bool
    value: Any = None


class ConflictOut(BaseModel):
    """One value that both sides changed; the merged document holds mine, or theirs where I deleted it."""

    pointer: str  # into the merged document
    base: Side
    mine: Side
    theirs: Side


class ChangeOut(BaseModel):
    """One value that differs."""

    pointer: str
    label: str  # in words
    before: Side
    after: Side


class StaleProblem(Problem):
    """The yard was changed elsewhere meanwhile: what to choose from. Save `merged` as it is, or with other choices."""

    expected: int
    current: int  # to be given as `expected` when the choice is saved
    merged: dict[str, Any]
    conflicts: list[ConflictOut]
    mine: list[ChangeOut]  # what I changed
    theirs: list[ChangeOut]  # what was changed elsewhere


STALE: dict[int | str, dict[str, Any]] = {409: {"model": StaleProblem | Problem}}


@router.get("")
def list_yards(store: TheStore, *, binned: bool = False) -> list[YardNote]:
    """Yards, the last changed first; or those in the bin."""
    return store.yards.all(binned=binned)


@router.post("", status_code=201)
def new_yard(store: TheStore, catalogue: TheCatalogue, body: NewYard) -> YardNote:
    """Begin a yard."""
    document = empty_document(body.name, body.units)
    return store.yards.create(document, what="begun", draft=bool(problems_in(document, catalogue)))


@router.post("/demo", status_code=201)
def open_demo(store: TheStore) -> YardNote:
    """Put the invented demo yard among the yards."""
    return store.yards.create(demo_document(), what="demo yard, invented", draft=False)


@router.post("/import", status_code=201)
def import_yard(
    store: TheStore,
    catalogue: TheCatalogue,
    file: Annotated[UploadFile, File(description="Yard: .yard.json, .geojson or .dxf")],
    facts: Annotated[UploadFile | None, File(description="Yard facts that go with a drawing")] = None,
    layers: LayersForm = "{}",
) -> YardNote:
    """Keep a yard from a file. A yard file that breaks rules is kept as a draft, and nothing of it is lost."""
    document = uploaded_yard(file, facts, named_layers(layers))
    name = PurePath(file.filename or "a file").name[:80]
    return store.yards.create(document, what=f"read from {name}", draft=bool(problems_in(document, catalogue)))


@router.get("/{yard}")
def get_yard(store: TheStore, yard: uuid.UUID) -> YardNote:
    """One yard."""
    return store.yards.get(yard)


@router.patch("/{yard}", responses=STALE)
def rename_yard(store: TheStore, catalogue: TheCatalogue, yard: uuid.UUID, body: Rename) -> Any:
    """Give a yard another name, as a new revision."""
    document = {**store.yards.revision(yard).document, "name": body.name}
    answer = _saved(store, catalogue, yard, document, expected=body.expected, what=f"named {body.name}"[:200])
    return answer if isinstance(answer, Response) else store.yards.get(yard)


@router.delete("/{yard}", status_code=204)
def bin_yard(store: TheStore, yard: uuid.UUID, *, forever: bool = False) -> None:
    """Put a yard into the bin; or, from the bin, delete it for good."""
    if forever:
        store.erase(yard)
    else:
        store.yards.bin(yard)


@router.post("/{yard}/restore")
def restore_yard(store: TheStore, yard: uuid.UUID) -> YardNote:
    """Take a yard out of the bin."""
    return store.yards.restore(yard)


@router.get("/{yard}/file", response_class=Response)
def export_yard(
    store: TheStore,
    yard: uuid.UUID,
    *,
    form: Annotated[Literal["yard", "geojson"], Query(alias="format")] = "yard",
    revision: RevisionNumber | None = None,
) -> Response:
    """A revision as a file: the yard file without loss, drafts too; GeoJSON when it breaks no rule."""
    found = store.yards.revision(yard, revision)
    if form == "geojson":
        text, suffix = geojson_text(validated(found.document, source="the yard")), "geojson"
    else:
        text, suffix = document_text(found.document), "yard.json"
    disposition = f'attachment; filename="yard-{found.note.number}.{suffix}"'
    return Response(text, media_type="application/json", headers={"Content-Disposition": disposition})


@router.get("/{yard}/revisions")
def list_revisions(
    store: TheStore,
    yard: uuid.UUID,
    *,
    before: RevisionNumber | None = None,
    most: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> list[RevisionNote]:
    """Revisions, newest first, every one that was ever saved."""
    return store.yards.revisions(yard, before=before, most=most)


@router.post("/{yard}/revisions", status_code=201, response_model=Revision, responses=STALE)
def save_revision(store: TheStore, catalogue: TheCatalogue, yard: uuid.UUID, body: Save) -> Any:
    """Save a document; drafts too. When the yard was changed elsewhere meanwhile, nothing is saved: 409 has a merge."""
    return _saved(store, catalogue, yard, body.document, expected=body.expected, what=body.what)


@router.get("/{yard}/revisions/current")
def current_revision(store: TheStore, yard: uuid.UUID) -> Revision:
    """The revision that the yard is at."""
    return store.yards.revision(yard)


@router.get("/{yard}/revisions/{number}")
def get_revision(store: TheStore, yard: uuid.UUID, number: RevisionNumber) -> Revision:
    """One revision. To go back to it for good, save its document again."""
    return store.yards.revision(yard, number)


@router.get("/{yard}/changes")
def list_changes(store: TheStore, yard: uuid.UUID, before: RevisionNumber, after: RevisionNumber) -> list[ChangeOut]:
    """What differs between two revisions."""
    one, two = store.yards.revision(yard, before), store.yards.revision(yard, after)
    return _told(one.document, two.document)


@router.post("/{yard}/undo")
def undo(store: TheStore, yard: uuid.UUID, body: Expected) -> Revision:
    """Go back one revision."""
    return store.yards.undo(yard, expected=body.expected)


@router.post("/{yard}/redo")
def redo(store: TheStore, yard: uuid.UUID, body: Expected) -> Revision:
    """Go forward to where undo came from."""
    return store.yards.redo(yard, expected=body.expected)


def _saved(
    store: TheStore, catalogue: TheCatalogue, yard: uuid.UUID, document: Mapping[str, Any], *, expected: int, what: str
) -> Revision | Response:
    draft = bool(problems_in(document, catalogue))
    words = what
    if not words:
        told = changes(store.yards.revision(yard, expected).document, document)
        words = "; ".join(change.label for change in told)[:200] or "nothing changed"
    try:
        return store.yards.save(yard, document, expected=expected, what=words, draft=draft)
    except StaleError as error:
        return _merge_choice(store, yard, document, error)


def _merge_choice(store: TheStore, yard: uuid.UUID, mine: Mapping[str, Any], error: StaleError) -> Response:
    base = store.yards.revision(yard, error.expected).document
    theirs = store.yards.revision(yard, error.current).document
    merged = merge(base, mine, theirs)
    conflicts = [
        ConflictOut(pointer=c.pointer, base=_side(c.base), mine=_side(c.mine), theirs=_side(c.theirs))
        for c in merged.conflicts
    ]
    return problem_response(
        409,
        str(error),
        expected=error.expected,
        current=error.current,
        merged=merged.document,
        conflicts=[c.model_dump() for c in conflicts],
        mine=[c.model_dump() for c in _told(base, mine)],
        theirs=[c.model_dump() for c in _told(base, theirs)],
    )


def _side(value: Any) -> Side:
    return Side(present=False) if value is ABSENT else Side(present=True, value=value)


def _told(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[ChangeOut]:
    return [
        ChangeOut(pointer=c.pointer, label=c.label, before=_side(c.before), after=_side(c.after))
        for c in changes(before, after)
    ]
