"""The drawing board: what can be said about a yard that is still being drawn. Nothing is kept."""

import json
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, UploadFile
from pydantic import BaseModel, Field

from rillwright.api.desk_access import TheCatalogue
from rillwright.api.documents import JsonObject
from rillwright.api.problems import Place, places_of
from rillwright.api.uploads import LayersForm, named_layers, uploaded_pieces
from rillwright.errors import InputError
from rillwright.exchange.check import problems_in
from rillwright.exchange.draft_ground import read_ground
from rillwright.jobs.draft_supply import DraftSupply, supply_of
from rillwright.physics.units import PSI
from rillwright.report.terrain_picture import TerrainPicture, draw_terrain

__all__ = ["router"]

router = APIRouter(prefix="/api/board", tags=["board"])

_USUAL_PRESSURE = 45 * PSI  # [Pa] at the entry; common practice, no source


class Draft(BaseModel):
    """A yard document, perhaps half written."""

    document: JsonObject


class SupplyDraft(Draft):
    """A draft and the pressure to keep."""

    pressure: Annotated[float, Field(ge=0, le=2e6, allow_inf_nan=False)] = _USUAL_PRESSURE  # [Pa] at the entry


class Checked(BaseModel):
    """What is wrong with a document."""

    valid: bool  # whether it can be planned
    problems: list[Place]


@router.post("/check")
def check(catalogue: TheCatalogue, body: Draft) -> Checked:
    """Every rule that a document breaks, each with its place."""
    problems = problems_in(body.document, catalogue)
    return Checked(valid=not problems, problems=places_of(problems))


@router.post("/terrain")
def terrain(body: Draft) -> TerrainPicture:
    """Contours and slope from the spot heights that can be read."""
    ground = read_ground(body.document)
    return draw_terrain(ground.terrain, ground.extent, system=ground.units)


@router.post("/supply")
def supply(catalogue: TheCatalogue, body: SupplyDraft) -> DraftSupply:
    """The supply curve with its band, measured points and safe flow, and what to measure next."""
    return supply_of(body.document, catalogue, pressure=body.pressure)


@router.post("/drawing")
def drawing(
    file: Annotated[UploadFile, File(description="Drawing: .geojson or .dxf")],
    document: Annotated[str, Form(description="The draft that it is to be added to, as JSON", max_length=20_000_000)],
    layers: LayersForm = "{}",
) -> dict[str, Any]:
    """What a drawing would add to a draft, by the draft's keys (areas, trees, spot_heights...) and in its units."""
    try:
        draft = Draft.model_validate({"document": json.loads(document)}).document
    except (ValueError, RecursionError):
        raise InputError("document: write the draft as a JSON object") from None
    return dict(uploaded_pieces(file, draft, named_layers(layers)))
