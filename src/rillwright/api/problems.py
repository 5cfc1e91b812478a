"""Errors as problem documents (RFC 9457): what is wrong, where, what to do. The one place where errors get a status."""

import json
import logging
import re
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from rillwright.errors import (
    InputError,
    NotExplainedError,
    NotFoundError,
    RillwrightError,
    StaleError,
    StateError,
    YardError,
)
from rillwright.errors import Problem as Broken
from rillwright.exchange.yard_problems import allowed, shorten

__all__ = [
    "RESPONSES",
    "Place",
    "Problem",
    "ProblemResponse",
    "places_of",
    "pointer_of",
    "problem_response",
    "use_problems",
]

_log = logging.getLogger(__name__)
_STEP = re.compile(r"\[(\d+)\]|([^.\[\]]+)")
_STATUS: tuple[tuple[type[RillwrightError], int], ...] = (
    (InputError, 422),
    (NotFoundError, 404),
    (NotExplainedError, 404),
    (StaleError, 409),
    (StateError, 409),
)


class Place(BaseModel):
    """One thing that is wrong, at its place."""

    pointer: str  # JSON pointer (RFC 6901) into the document; empty for the whole
    value: str  # what stands there, shortened
    allowed: str  # what may stand there, or what to do


class Problem(BaseModel):
    """Problem document, RFC 9457."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str  # what is wrong and what to do, in a sentence
    problems: list[Place] = Field(default_factory=list)  # place by place, when there are several


class ProblemResponse(JSONResponse):
    """A problem document on its way."""

    media_type = "application/problem+json"

    def render(self, content: Any) -> bytes:
        """Write in ASCII: what a user sent may hold half a character."""
        return json.dumps(content, ensure_ascii=True, allow_nan=False).encode()


def _documented(status: int) -> dict[str, Any]:
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {"description": HTTPStatus(status).phrase, "content": content}


RESPONSES: dict[int | str, dict[str, Any]] = {
    status: _documented(status) for status in (400, 401, 403, 404, 409, 413, 421, 422)
}


def problem_response(status: int, detail: str, problems: Sequence[Place] = (), **more: Any) -> ProblemResponse:
    """Answer with a problem document."""
    title = HTTPStatus(status).phrase
    body = Problem(title=title, status=status, detail=detail, problems=list(problems)).model_dump(mode="json")
    return ProblemResponse(body | more, status_code=status)


def pointer_of(path: str) -> str:
    """Turn a place such as 'areas[2].outline' into a JSON pointer.

    >>> pointer_of("areas[2].outline")
    '/areas/2/outline'
    """
    if path == "the document":
        return ""
    steps = [index or name for index, name in _STEP.findall(path)]
    return "".join(f"/{step.replace('~', '~0').replace('/', '~1')}" for step in steps)


def places_of(problems: Sequence[Broken]) -> list[Place]:
    """Problems of a document, each with its pointer."""
    return [Place(pointer=pointer_of(p.path), value=p.value, allowed=p.allowed) for p in problems]


def use_problems(app: FastAPI) -> None:
    """Answer every error of an application with a problem document."""

    @app.exception_handler(RillwrightError)
    async def ours(_request: Request, error: RillwrightError) -> Response:
        status = next((status for kind, status in _STATUS if isinstance(error, kind)), 500)
        if status == 500:
            _log.error("a solver failed", exc_info=error)
        if isinstance(error, YardError):
            detail = f"{error.source} breaks {len(error.problems)} rule{'s' if len(error.problems) > 1 else ''}."
            return problem_response(status, detail, places_of(error.problems))
        return problem_response(status, str(error))

    @app.exception_handler(RequestValidationError)
    async def unreadable(_request: Request, error: RequestValidationError) -> Response:
        places = [
            Place(pointer=_request_pointer(found["loc"]), value=_stands(found), allowed=allowed(found))
            for found in error.errors()[:25]
        ]
        return problem_response(422, "The request cannot be understood: see each place.", places)

    @app.exception_handler(HTTPException)
    async def refused(_request: Request, error: HTTPException) -> Response:
        answer = problem_response(error.status_code, str(error.detail))
        answer.headers.update(error.headers or {})
        return answer

    @app.exception_handler(Exception)
    async def fault(_request: Request, error: Exception) -> Response:
        _log.error("a fault of this program", exc_info=error)
        return problem_response(500, "A fault of this program: its words are in the log. Please report it.")


def _stands(found: Mapping[str, Any]) -> str:
    """What stands where a request is wrong."""
    kind = str(found["type"])
    return kind.replace("_", " ") if kind in ("missing", "json_invalid") else shorten(found["input"])


def _request_pointer(loc: Sequence[int | str]) -> str:
    """Pointer into the body, or '/query/name' and the like for what is not in it."""
    steps = list(loc[1:] if loc and loc[0] == "body" else loc)
    return "".join(f"/{str(step).replace('~', '~0').replace('/', '~1')}" for step in steps)
