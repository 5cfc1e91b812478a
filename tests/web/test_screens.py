"""Every screen once at both sizes, light and dark: it fits, and is kept as a picture where that is asked."""

import pytest

PLACES = {
    "ground": "svg[role=application] path.lawn",
    "supply": ".safe strong",
    "plan": "[data-head]",
    "work": "nav[aria-label='Parts of the work']",
}
PARTS = ("Outcome", "Findings", "Zones", "Supply", "Choices", "Valves", "Cost")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_screen_fits(anywhere, demo, theme, keep_picture):
    page = anywhere
    width = page.viewport_size["width"]

    def look(name):
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        keep_picture(page, name)

    page.emulate_media(color_scheme=theme)
    page.goto("/")
    page.locator("a.name").first.wait_for()
    look("yards")
    for place, shown in PLACES.items():
        page.goto(f"/#/{demo[0]}/{place}")
        page.locator(shown).first.wait_for(state="attached")
        look(place)
        if place == "plan":
            for part in PARTS[1:]:
                page.get_by_role("tab", name=part).click()
                look(f"plan-{part.lower()}")
