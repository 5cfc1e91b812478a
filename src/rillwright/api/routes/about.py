"""About the program: whether it runs, its units and schema, and letting a device in."""

from typing import Annotated, Any, Literal

import segno
from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from rillwright import __version__
from rillwright.api.guard import Sharing
from rillwright.api.pairing import COOKIE, SESSION_LASTS, TooManyAttemptsError, pairing_link
from rillwright.exchange.yard_file import yard_schema
from rillwright.physics.units import DIMENSIONS

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["about"])


class Health(BaseModel):
    """Whether the program runs, and which it is."""

    status: Literal["ok"] = "ok"
    version: str = __version__


class Session(BaseModel):
    """Whether this device may use the program."""

    shared: bool  # whether the program listens on the network
    paired: bool


class Share(BaseModel):
    """How another device opens the page; nothing in it when the program serves this machine only."""

    address: str | None = None
    code: str | None = None  # for one device
    picture: str | None = None  # address and code for a camera (QR code, ISO/IEC 18004), as an SVG in a data: address


class PairRequest(BaseModel):
    """The code that the program shows where it runs."""

    code: Annotated[str, Field(min_length=1, max_length=40)]


class UnitOut(BaseModel):
    """A unit: value in SI = value · factor + offset."""

    name: str
    factor: float
    offset: float
    decimals: int  # that a person needs


class DimensionOut(BaseModel):
    """The units of one kind of quantity."""

    us: UnitOut
    metric: UnitOut
    typed: list[str]  # unit names that may follow a number in a text


@router.get("/health")
def health() -> Health:
    """Whether the program runs."""
    return Health()


@router.get("/session")
def session(request: Request) -> Session:
    """Whether this device may use the program; ask before anything else."""
    sharing: Sharing | None = request.app.state.sharing
    return Session(shared=sharing is not None, paired=bool(request.scope.get("rillwright.let_in", True)))


@router.post("/pair", status_code=204)
def pair(request: Request, body: PairRequest, response: Response) -> None:
    """Let this device in; the answer sets a session cookie, and the code is used up."""
    sharing: Sharing | None = request.app.state.sharing
    if sharing is None:
        raise HTTPException(409, "The program is not shared on the network: nothing needs to be paired.")
    peer = request.client.host if request.client else ""
    try:
        token = sharing.pairing.redeem(body.code, peer=peer)
    except TooManyAttemptsError:
        words = "Too many codes were tried: wait a minute, then type the code that is shown now."
        raise HTTPException(429, words, headers={"Retry-After": "60"}) from None
    if token is None:
        raise HTTPException(403, "That is not the code that the program shows now: look at it again.")
    response.set_cookie(COOKIE, token, max_age=SESSION_LASTS, path="/", httponly=True, samesite="strict")


@router.get("/share")
def share(request: Request) -> Share:
    """How another device opens the page; told on this machine only."""
    sharing: Sharing | None = request.app.state.sharing
    if sharing is None:
        return Share()
    if not request.scope.get("rillwright.here", False):
        raise HTTPException(403, "The code is shown on the machine where the program runs, and nowhere else.")
    code = sharing.pairing.code
    picture = segno.make(pairing_link(sharing.address, code), micro=False).svg_data_uri()
    return Share(address=sharing.address, code=code, picture=picture)


@router.get("/units")
def units() -> dict[str, DimensionOut]:
    """Units by dimension, as yards and plans name them; SI inside, these at the edge."""
    return {
        name: DimensionOut(
            us=UnitOut(name=d.us.name, factor=d.us.factor, offset=d.us.offset, decimals=d.us_decimals),
            metric=UnitOut(
                name=d.metric.name, factor=d.metric.factor, offset=d.metric.offset, decimals=d.metric_decimals
            ),
            typed=[unit.name for unit in d.typed if unit.name],
        )
        for name, d in DIMENSIONS.items()
    }


@router.get("/schema/yard")
def schema() -> dict[str, Any]:
    """JSON Schema of the yard document."""
    return yard_schema()
