"""The program in this process, with a yard and its plan in the store."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import UUID

from fastapi.testclient import TestClient

from plan_yards import planned, small_yard
from rillwright import __version__
from rillwright.api.app import create_app
from rillwright.jobs.desk import brief_of
from rillwright.model.plan import Plan
from rillwright.store import Store


def keep(store: Store, yard: UUID, made: Plan, *, revision: int = 1) -> UUID:
    """Put a plan of a yard in the store, as if the program had just made it: its id."""
    plan = store.plans.start(yard, revision=revision, seed=0, software=__version__)[0].id
    store.plans.finish(plan, document=made.model_dump_json(indent=1), brief=brief_of(made), status="done")
    return plan


@contextmanager
def served(
    folder: Path, made: Plan | None = None, *, workers: int = 0, host: str = "http://127.0.0.1"
) -> Iterator[TestClient]:
    """A client with the addresses of the small yard and of its plan; made, another plan that stands for it."""
    made = made or planned(small_yard())
    app = create_app(folder, workers=workers)
    with TestClient(app, base_url=host) as client:
        store = app.state.store
        yard = store.yards.create(small_yard(), what="made", draft=False).id
        plan = keep(store, yard, made)
        client.yard, client.plan = f"/api/yards/{yard}", f"/api/plans/{plan}"
        yield client
