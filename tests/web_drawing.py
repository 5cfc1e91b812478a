"""Drawing on the Ground screen in a browser, as tests and benchmarks do it."""

import base64
import re

from playwright.sync_api import expect


def begin(page, name, units="US"):
    page.goto("/")
    page.get_by_label("Name").fill(name)
    if units == "metric":
        page.get_by_label("metres, L/min, kPa").check()
    page.get_by_role("button", name="Begin").click()
    board = page.get_by_role("application")
    board.wait_for()
    return board


def document_of(page, ask):
    saved(page)
    yard = re.search(r"#/([^/]+)/", page.url).group(1)
    return ask("GET", f"/api/yards/{yard}/revisions/current")["document"]


def saved(page):
    page.get_by_role("status").filter(has_text=re.compile("^saved$")).wait_for(state="attached")


TASKS = {
    "spot height": "Add heights",
    "buried line": "Buried line",
    "measure": "Measure",
    **dict.fromkeys(("tree", "water entry", "controller"), "Set down"),
    **dict.fromkeys(("old head", "old pipe", "old valve place"), "There already"),
}


def tool(page, name):
    """Take a tool: press its task, and its kind where the task has several."""
    bar = page.get_by_role("toolbar")
    task = TASKS.get(name, "Walk an edge")
    pressed = bar.get_by_role("button", name=task)
    if pressed.get_attribute("aria-pressed") != "true" or task in ("Add heights", "Buried line", "Measure"):
        pressed.click()
    kind = bar.get_by_role("button", name=name, exact=True)
    if kind.count():
        kind.click()


def square(page, side, kind="lawn"):
    tool(page, kind)
    page.get_by_role("application").focus()
    page.keyboard.type("0")
    page.keyboard.press("Tab")
    page.keyboard.type("0")
    page.keyboard.press("Enter")
    for arrow in ("ArrowRight", "ArrowUp", "ArrowLeft"):
        page.keyboard.type(str(side))
        page.keyboard.press(arrow)
    page.keyboard.press("Enter")


def drop(page, target, *paths):
    """Drop files on something, as from the desktop."""
    files = [[path.name, base64.b64encode(path.read_bytes()).decode()] for path in paths]
    transfer = page.evaluate_handle(
        """files => {
            const transfer = new DataTransfer();
            for (const [name, text] of files) {
                const bytes = Uint8Array.from(atob(text), letter => letter.charCodeAt(0));
                transfer.items.add(new File([bytes], name));
            }
            return transfer;
        }""",
        files,
    )
    target.dispatch_event("drop", {"dataTransfer": transfer})


def type_into_field(page, text):
    """Type into the field that the page leads to, once it has it in hand."""
    expect(page.locator("input:focus")).to_have_count(1)
    page.keyboard.type(text)
