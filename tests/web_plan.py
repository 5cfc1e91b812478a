"""Plans on the page: put into the program's store, found on the drawing."""

from contextlib import closing
from uuid import UUID

from plan_yards import planned, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.store import Store
from served_plans import keep


def add_yard(ask, document):
    yard = ask("POST", "/api/yards", {"name": document["name"], "units": document["units"]})["id"]
    ask("POST", f"/api/yards/{yard}/revisions", {"document": document, "expected": 1})
    return yard


def put_plan(ask, folder, yard, made=None):
    """Put the plan of a yard where the program that serves a folder keeps its own: its id.

    Parameters: made, a kept plan of the same yard under any name; of the small yard when left out.
    """
    now = ask("GET", f"/api/yards/{yard}/revisions/current")
    made, own = made or planned(small_yard()), validated(now["document"], source="test")
    assert made.yard.model_copy(update={"name": own.name}) == own
    with closing(Store(folder)) as store:
        return str(keep(store, UUID(yard), made.model_copy(update={"yard": own}), revision=now["current"]))


def middle_of(page, head):
    box = page.locator(f'[data-head="{head}"] path.head').bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
