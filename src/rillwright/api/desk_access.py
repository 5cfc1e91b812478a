"""What routes work with: the store, the desk and the catalogue of the running application."""

from typing import Annotated

from fastapi import Depends, Request

from rillwright.jobs.desk import Desk
from rillwright.jobs.field_desk import FieldDesk
from rillwright.jobs.site_desk import SiteDesk
from rillwright.model.parts import Catalogue
from rillwright.store import Store

__all__ = ["TheCatalogue", "TheDesk", "TheField", "TheSite", "TheStore"]


def _store(request: Request) -> Store:
    store = request.app.state.store
    assert isinstance(store, Store)
    return store


def _desk(request: Request) -> Desk:
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


def _site(request: Request) -> SiteDesk:
    site = request.app.state.site
    assert isinstance(site, SiteDesk)
    return site


def _field(request: Request) -> FieldDesk:
    field = request.app.state.field
    assert isinstance(field, FieldDesk)
    return field


def _catalogue(request: Request) -> Catalogue:
    return _desk(request).catalogue


TheStore = Annotated[Store, Depends(_store)]
TheDesk = Annotated[Desk, Depends(_desk)]
TheField = Annotated[FieldDesk, Depends(_field)]
TheSite = Annotated[SiteDesk, Depends(_site)]
TheCatalogue = Annotated[Catalogue, Depends(_catalogue)]
