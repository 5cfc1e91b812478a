"""Requests of every kind that the description allows, and many that it does not: never a fault of the program.

Half of the ids are those of a yard and a plan that exist, made anew when a request has deleted them. No worker makes
plans here, so that plans which are asked for only wait.
"""

import json
import socket
import threading
import uuid
import zlib

import pytest
import schemathesis
import uvicorn
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from schemathesis.checks import not_a_server_error

from plan_yards import planned, small_yard
from rillwright import __version__
from rillwright.api.app import create_app, openapi_document
from rillwright.errors import NotFoundError
from rillwright.jobs.desk import brief_of

DOCUMENT = openapi_document()

schema = schemathesis.openapi.from_dict(DOCUMENT)


class Existing:
    """A yard and its plan, there whenever they are asked for."""

    def __init__(self, store):
        self._store = store
        self._yard = self._plan = uuid.uuid4()

    def ids(self):
        try:
            self._store.yards.restore(self._yard)
        except NotFoundError:
            self._yard = self._store.yards.create(small_yard(), what="made", draft=False).id
        try:
            self._store.plans.get(self._plan)
        except NotFoundError:
            self._plan = self._store.plans.start(self._yard, revision=1, seed=0, software=__version__)[0].id
            made = planned(small_yard())
            text = made.model_dump_json(indent=1)
            self._store.plans.finish(self._plan, document=text, brief=brief_of(made), status="done")
        return {"yard": str(self._yard), "plan": str(self._plan), "other": str(self._plan), "number": 1}


EXISTING = []


@schema.hook
def map_path_parameters(_context, path_parameters):
    """Put ids that exist in place of half of those that are thought up."""
    if EXISTING and path_parameters and zlib.crc32(json.dumps(path_parameters, default=str).encode()) % 2:
        known = EXISTING[0].ids()
        return {name: known.get(name, value) for name, value in path_parameters.items()}
    return path_parameters


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    app = create_app(tmp_path_factory.mktemp("data"), workers=0)
    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    while not server.started:
        thread.join(0.05)
        assert thread.is_alive()
    EXISTING.append(Existing(app.state.store))
    yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    EXISTING.clear()
    server.should_exit = True
    thread.join()
    listener.close()


@pytest.mark.parametrize(
    "operation", [found.ok() for found in schema.get_all_operations()], ids=lambda operation: operation.label
)
@given(data=st.data())
@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_no_request_is_a_fault(operation, data, address):
    case = data.draw(operation.as_strategy())
    answer = case.call_and_validate(base_url=address, checks=[not_a_server_error], timeout=60)
    if case.method.lower() not in DOCUMENT["paths"][case.operation.path]:
        return
    described = DOCUMENT["paths"][case.operation.path][case.method.lower()]["responses"]
    assert str(answer.status_code) in described
    media = answer.headers.get("content-type", [""])[0].partition(";")[0]
    content = described[str(answer.status_code)].get("content", {})
    if media.endswith("json") and content:
        Draft202012Validator({"allOf": [content[media]["schema"]], "components": DOCUMENT["components"]}).validate(
            answer.json()
        )
