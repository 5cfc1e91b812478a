"""Letting other devices in: the code, what is shown for it, and who was let in."""

import uuid
from typing import Annotated

import segno
from fastapi import APIRouter, Depends, Request, Response
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from rillwright.api.desk_access import TheStore
from rillwright.api.guard import Sharing, Trust
from rillwright.api.pairing import TooManyAttemptsError, pairing_link
from rillwright.store.devices import Device

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["sharing"])

COOKIE_LASTS = 400 * 24 * 3600  # [s] the longest that browsers allow; how long a device is let in, the store decides


class Session(BaseModel):
    """Whether this device may use the program."""

    shared: bool  # whether the program listens on the network
    paired: bool


class TrustOut(BaseModel):
    """What a device must trust once, to be served encrypted."""

    address: str  # of the page that hands the certificate out
    fingerprint: str  # of the certificate, SHA-256
    picture: str  # address for a camera


class Share(BaseModel):
    """How another device opens the page; nothing in it when the program serves this machine only."""

    address: str | None = None
    code: str | None = None  # for one device
    picture: str | None = None  # address and code for a camera (QR code, ISO/IEC 18004), as an SVG in a data: address
    trust: TrustOut | None = None  # None when the network is served unencrypted


class PairRequest(BaseModel):
    """The code that the program shows where it runs."""

    code: Annotated[str, Field(min_length=1, max_length=40)]
    name: Annotated[str, Field(max_length=60)] = ""  # of the device, by which its user knows it again


def _here(request: Request) -> None:
    if not request.scope.get("rillwright.here", False):
        raise HTTPException(403, "This is shown on the machine where the program runs, and nowhere else.")


@router.get("/session")
def session(request: Request) -> Session:
    """Whether this device may use the program; ask before anything else."""
    sharing: Sharing | None = request.app.state.sharing
    return Session(shared=sharing is not None, paired=bool(request.scope.get("rillwright.let_in", True)))


@router.post("/pair", status_code=204)
def pair(request: Request, store: TheStore, body: PairRequest, response: Response) -> None:
    """Let this device in; the answer sets a session cookie, and the code is used up."""
    sharing: Sharing | None = request.app.state.sharing
    if sharing is None:
        raise HTTPException(409, "The program is not shared on the network: nothing needs to be paired.")
    try:
        right = sharing.pairing.redeem(body.code, peer=request.client.host if request.client else "")
    except TooManyAttemptsError:
        words = "Too many codes were tried: wait a minute, then type the code that is shown now."
        raise HTTPException(429, words, headers={"Retry-After": "60"}) from None
    if not right:
        raise HTTPException(403, "That is not the code that the program shows now: look at it again.")
    token = store.devices.let_in(" ".join(body.name.split()) or "a device without a name")
    response.set_cookie(
        sharing.cookie,
        token,
        max_age=COOKIE_LASTS,
        path="/",
        httponly=True,
        secure=sharing.secure,
        samesite="strict",
    )


@router.get("/share", dependencies=[Depends(_here)])
def share(request: Request) -> Share:
    """How another device opens the page; told on this machine only."""
    sharing: Sharing | None = request.app.state.sharing
    if sharing is None:
        return Share()
    code = sharing.pairing.code
    trust = None if sharing.trust is None else _shown(sharing.trust)
    link = pairing_link(sharing.address, code)
    return Share(address=sharing.address, code=code, picture=_picture(link), trust=trust)


def _shown(trust: Trust) -> TrustOut:
    return TrustOut(address=trust.address, fingerprint=trust.fingerprint, picture=_picture(trust.address))


def _picture(address: str) -> str:
    return str(segno.make(address, micro=False).svg_data_uri())


@router.get("/devices", dependencies=[Depends(_here)])
def devices(store: TheStore) -> list[Device]:
    """Devices that are let in, the last seen first; told on this machine only."""
    return store.devices.all()


@router.delete("/devices/{device}", status_code=204, dependencies=[Depends(_here)])
def turn_out(store: TheStore, device: uuid.UUID) -> None:
    """Let a device in no more; on this machine only."""
    store.devices.turn_out(device)
