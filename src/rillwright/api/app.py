"""The application: routes, guard, and the built page."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from starlette.responses import PlainTextResponse
from starlette.staticfiles import StaticFiles

from rillwright import __version__
from rillwright.api.guard import Guard, Sharing
from rillwright.api.problems import RESPONSES, Problem, use_problems
from rillwright.api.routes import (
    about,
    answers,
    bench,
    board,
    building,
    field,
    money,
    plans,
    sharing,
    sheets,
    water,
    weather,
    winter,
    yards,
)
from rillwright.jobs.desk import Desk
from rillwright.jobs.field_desk import FieldDesk
from rillwright.jobs.site_desk import SiteDesk
from rillwright.store import Store

__all__ = ["create_app", "openapi_document"]

PAGE = "page"  # folder of the built page inside the package
_NO_PAGE = "The page is not built in this installation; the interface is under /api, see docs/reference/api.md.\n"


def create_app(folder: Path, *, sharing: Sharing | None = None, workers: int = 1) -> FastAPI:
    """Make the application on a data folder.

    Parameters: folder; sharing, when it is to be used over the network; workers, processes that make plans.
    Errors: InputError, while it starts, when the folder cannot be used.
    """

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        store = Store(folder)
        desk = Desk(store, workers=workers)
        site = SiteDesk(store, desk)
        app.state.store, app.state.desk, app.state.site = store, desk, site
        app.state.field = FieldDesk(store, desk, site)
        try:
            yield
        finally:
            desk.close()
            store.close()

    app = _routed(lifespan=life)
    app.state.sharing = sharing
    app.add_middleware(Guard, sharing=sharing)
    page = Path(str(resources.files("rillwright"))) / PAGE
    if page.is_dir():
        app.mount("/", StaticFiles(directory=page, html=True))
    else:
        app.add_route("/", lambda _request: PlainTextResponse(_NO_PAGE))
    return app


def openapi_document() -> dict[str, Any]:
    """The OpenAPI description of the routes."""
    return _routed().openapi()


def _routed(**options: Any) -> FastAPI:
    app = FastAPI(
        title="Rillwright",
        version=__version__,
        summary="Plan and build an in-ground sprinkler system that the measured water supply can really feed.",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        generate_unique_id_function=_operation,
        **options,
    )
    for part in (
        about,
        sharing,
        yards,
        board,
        plans,
        money,
        building,
        field,
        sheets,
        answers,
        water,
        weather,
        winter,
        bench,
    ):
        app.include_router(part.router)
    use_problems(app)
    app.openapi = lambda: _described(app)  # type: ignore[method-assign]
    return app


def _operation(route: APIRoute) -> str:
    """Name an operation by its function, in a client's case."""
    first, *rest = route.name.split("_")
    return first + "".join(word.capitalize() for word in rest)


def _described(app: FastAPI) -> dict[str, Any]:
    """Describe the routes, every one with the problems that it may answer with."""
    if app.openapi_schema is None:
        found = get_openapi(title=app.title, version=app.version, summary=app.summary, routes=app.routes)
        schemas = found["components"]["schemas"]
        for name in ("HTTPValidationError", "ValidationError"):
            schemas.pop(name, None)
        problem = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
        schemas |= problem.pop("$defs") | {"Problem": problem}
        for operations in found["paths"].values():
            for operation in operations.values():
                own = operation["responses"]
                if "409" in own:
                    own["409"]["content"] = {"application/problem+json": own["409"]["content"]["application/json"]}
                own.pop("422", None)
                operation["responses"] = own | {str(s): r for s, r in RESPONSES.items() if str(s) not in own}
        app.openapi_schema = found
    return app.openapi_schema
