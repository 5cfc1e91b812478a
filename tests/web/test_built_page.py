"""The files of the built page: how heavy they are, and that the copy for a time without a connection is whole."""

import gzip
import json
import re
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "src/rillwright/page"
MOST = 200_000  # [bytes] of script, compressed, until the first paint
SCREENS = ("Ground", "Supply", "Plan", "Work")


def with_imports(script, seen=frozenset()):
    """A script and what it imports before it runs; what it fetches later, by import(), is not among it."""
    if script in seen:
        return seen
    seen = seen | {script}
    for name in re.findall(r'(?:from|import)\s*["\'`]\./([\w.-]+\.js)', script.read_text(encoding="utf-8")):
        seen = with_imports(script.parent / name, seen)
    return seen


def first_scripts():
    index = (PAGE / "index.html").read_text(encoding="utf-8")
    entries = re.findall(r'(?:src|href)="\./(assets/[\w.-]+\.js)"', index)
    assert entries
    return frozenset().union(*(with_imports(PAGE / entry) for entry in entries))


def weight(scripts):
    return sum(len(gzip.compress(script.read_bytes(), 9)) for script in scripts)


def test_the_first_paint_takes_little_script():
    assert 10_000 < weight(first_scripts()) < MOST


@pytest.mark.parametrize("screen", SCREENS)
def test_each_screen_opened_first_takes_little_script(screen):
    (chunk,) = (PAGE / "assets").glob(f"{screen}-*.js")
    total = weight(first_scripts() | with_imports(chunk))
    print(f"{screen}: {total / 1000:.0f} kB")
    assert total < MOST


def test_the_browser_keeps_every_file_of_the_page():
    words = (PAGE / "service.js").read_text(encoding="utf-8")
    listed = set(re.findall(r'"(assets/[\w.-]+)"', words))
    assert listed == {f"assets/{file.name}" for file in (PAGE / "assets").iterdir()}


def test_the_page_can_be_installed():
    """Members that a browser asks for: W3C, Web Application Manifest, from memory."""
    manifest = json.loads((PAGE / "page.webmanifest").read_text(encoding="utf-8"))
    assert manifest["display"] == "standalone"
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    assert all((PAGE / icon["src"]).is_file() for icon in manifest["icons"])
    assert 'rel="manifest"' in (PAGE / "index.html").read_text(encoding="utf-8")
