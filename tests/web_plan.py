"""Plans on the page: made through the interface, found on the drawing."""

import time


def add_yard(ask, document):
    yard = ask("POST", "/api/yards", {"name": document["name"], "units": document["units"]})["id"]
    ask("POST", f"/api/yards/{yard}/revisions", {"document": document, "expected": 1})
    return yard


def make_plan(ask, yard):
    plan = ask("POST", f"/api/yards/{yard}/plans", {})["note"]["id"]
    while ask("GET", f"/api/plans/{plan}")["note"]["status"] in ("waiting", "running"):
        time.sleep(0.2)
    return plan


def middle_of(page, head):
    box = page.locator(f'[data-head="{head}"] path.head').bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
