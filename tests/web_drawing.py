"""Drawing on the Ground screen in a browser, as tests and benchmarks do it."""

import base64
import re


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


def tool(page, name):
    page.get_by_role("toolbar").get_by_role("button", name=name, exact=True).click()


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
