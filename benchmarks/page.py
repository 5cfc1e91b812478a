"""Time what a person waits for at the page: the answer to a dragged head, and the picture of water that follows it.

Run: python benchmarks/page.py, with the page built and Chromium installed. The demo yard, one server, wall time,
medians. Baselines of the same run: a bare GET of the same server, and the whole plan made anew. Wanted: an answer
within 50 ms, the picture drawn within 100 ms.
"""

import json
import shutil
import statistics
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

sys.path.append(str(Path(__file__).parent.parent / "tests"))
from web_plan import middle_of
from web_program import Program

TURNS = 40
ANSWERED = "performance.getEntriesByName('rillwright: program answers').map((one) => one.duration)"
DRAWN = "performance.getEntriesByName('rillwright: water follows').map((one) => one.duration)"


class Server:
    """Asks one program; the connection is made anew each time, as the baseline's is."""

    def __init__(self, address: str) -> None:
        self._address = address

    def __call__(self, method: str, path: str, body: object = None) -> Any:
        """Answer to a request."""
        data = None if body is None else json.dumps(body).encode()
        headers = {"content-type": "application/json"}
        request = urllib.request.Request(self._address + path, data, headers, method=method)
        with urllib.request.urlopen(request) as answer:
            return json.loads(answer.read())

    def median(self, method: str, path: str, bodies: list[Any]) -> float:
        """Median time [s] of requests, after one to warm up."""
        self(method, path, bodies[0])
        times = []
        for body in bodies:
            start = time.perf_counter()
            self(method, path, body)
            times.append(time.perf_counter() - start)
        return statistics.median(times)


def make_plan(ask: Server, yard: str) -> str:
    """Have a yard planned: the plan's id."""
    plan: str = ask("POST", f"/api/yards/{yard}/plans", {})["note"]["id"]
    while ask("GET", f"/api/plans/{plan}")["note"]["status"] in ("waiting", "running"):
        time.sleep(0.2)
    return plan


def settings(plan: dict[str, Any]) -> list[Any]:
    """Questions as a drag asks them: one head, some centimetres further each time."""
    head = plan["heads"][0]
    x, y = head["at"]
    return [{"heads": [{"head": head["id"], "at": [x + 0.01 * step, y]}]} for step in range(1, TURNS + 1)]


def drag(page: Page, head: str) -> None:
    """Drag a head with the mouse, one step a frame."""
    x, y = middle_of(page, head)
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(TURNS):
        page.mouse.move(x + step, y - step / 2)
        page.wait_for_timeout(16)
    page.mouse.up()
    page.wait_for_function("() => !document.querySelector('.drawings[aria-busy=\"true\"]')")


def in_browser(address: str, yard: str, head: str) -> tuple[list[float], list[float]]:
    """Times [ms] from each question to its answer, and to the picture drawn, by the page's own measure."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--headless", "--no-sandbox"])
        page = browser.new_page(base_url=address, viewport={"width": 1440, "height": 900})
        page.goto(f"/#/{yard}/plan")
        page.locator("[data-head]").first.wait_for()
        drag(page, head)  # to warm up
        page.evaluate("performance.clearMeasures()")
        drag(page, head)
        found = page.evaluate(ANSWERED), page.evaluate(DRAWN)
        browser.close()
    return found


def main() -> None:
    """Print medians and ratios."""
    with tempfile.TemporaryDirectory() as folder:
        program = Program(Path(folder))
        program.start()
        try:
            ask = Server(program.address)
            yard = ask("POST", "/api/yards/demo")["id"]
            start = time.perf_counter()
            plan = make_plan(ask, yard)
            whole = time.perf_counter() - start
            document = ask("GET", f"/api/plans/{plan}/document")
            bare = ask.median("GET", "/api/health", [None] * TURNS)
            answer = ask.median("POST", f"/api/plans/{plan}/adjust", settings(document))
            answered, drawn = in_browser(program.address, yard, document["heads"][0]["id"])
        finally:
            program.stop()
    print(f"bare GET {1e3 * bare:.1f} ms, the whole plan {whole:.1f} s; medians of {TURNS} and of {len(drawn)} drawn")
    for name, time_, wanted in (
        ("answer over HTTP", answer, 0.05),
        ("answer in the page", statistics.median(answered) / 1e3, 0.05),
        ("picture drawn", statistics.median(drawn) / 1e3, 0.1),
    ):
        told = f"{name}: {1e3 * time_:.1f} ms (wanted {1e3 * wanted:.0f}), {time_ / bare:.1f} times a bare GET,"
        print(told, f"{time_ / whole:.5f} of a whole plan")


if __name__ == "__main__":
    main()
