"""The built page in a real browser: one server on a folder of its own, one Chromium, a new tab for each test."""

import base64
import contextlib
import hashlib
import json
import os
import shutil
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from plan_yards import planned_example, small_yard
from web_plan import add_yard, put_plan
from web_program import Program

ROOT = Path(__file__).parents[2]
SCREENS = ROOT / "out/screens"
PAGE = ROOT / "src/rillwright/page/index.html"
AXE = ROOT / "web/node_modules/axe-core/axe.min.js"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PATIENCE = 30_000  # [ms] of a test on a busy machine
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESK = {"viewport": {"width": 1440, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@contextlib.contextmanager
def running(folder, *words):
    """The program, ended when the block ends."""
    if not PAGE.exists():
        pytest.fail("the page is not built: run make page")
    program = Program(folder, *words)
    try:
        program.start()
        yield program
    finally:
        program.stop()


@pytest.fixture(scope="session")
def site_folder(tmp_path_factory):
    """Where the running program keeps its yards."""
    return tmp_path_factory.mktemp("yards")


@pytest.fixture(scope="session")
def site(site_folder):
    """Address of the running program."""
    with running(site_folder) as program:
        yield program.address


@pytest.fixture
def shared_program(tmp_path):
    """A program that is shared on the network, encrypted."""
    with running(tmp_path, "--share") as program:
        yield program


@pytest.fixture
def plain_program(tmp_path):
    """A program that is shared on the network, unencrypted."""
    with running(tmp_path, "--share", "--plain") as program:
        yield program


@pytest.fixture
def trusting(chromium, shared_program, asker):
    """A Chromium that trusts the shared program's authority, by its key, as a phone that installed it does."""
    from cryptography import x509
    from cryptography.hazmat.primitives import serialization

    told = asker(shared_program.address)("GET", "/api/share")["trust"]
    with urllib.request.urlopen(f"{told['address']}/authority.crt") as answer:
        certificate = x509.load_der_x509_certificate(answer.read())
    form = (serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    key = base64.b64encode(hashlib.sha256(certificate.public_key().public_bytes(*form)).digest()).decode()
    flags = [*FLAGS, f"--ignore-certificate-errors-spki-list={key}"]
    browser = chromium.browser_type.launch(executable_path=CHROMIUM, args=flags)
    yield browser
    browser.close()


@pytest.fixture
def own_program(tmp_path):
    """A program of the test's own, which may end it and start it again."""
    with running(tmp_path) as program:
        yield program


@pytest.fixture(scope="session")
def chromium():
    if CHROMIUM is None and "CI" not in os.environ:
        pytest.skip("no Chromium on this machine: install it to test the page in a browser")
    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


class Faults(list):
    """What the browser complained of; a test that expects some clears it."""


def _tab(chromium, site, **options):
    context = chromium.new_context(base_url=site, **options)
    page = context.new_page()
    page.faults = Faults()
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda said: page.faults.append(said.text) if said.type == "error" else None)
    return context, page


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def anywhere(request, chromium, site):
    """A tab of either size."""
    context, page = _tab(chromium, site, **request.param)
    page.size = request.node.callspec.id
    yield page
    context.close()
    assert page.faults == []


@pytest.fixture
def desk(chromium, site):
    """A tab on a big screen."""
    context, page = _tab(chromium, site, **DESK)
    yield page
    context.close()
    assert page.faults == []


@pytest.fixture
def phone(chromium, site):
    """A tab on a phone."""
    context, page = _tab(chromium, site, **PHONE)
    yield page
    context.close()
    assert page.faults == []


@pytest.fixture
def phone_options():
    return PHONE


@pytest.fixture(scope="session")
def asker():
    """Makes what asks a program's interface: ask(method, path, body) gives the JSON answer."""

    def made(address):
        def asked(method, path, body=None):
            data = None if body is None else json.dumps(body).encode()
            request = urllib.request.Request(address + path, data, {"content-type": "application/json"}, method=method)
            with urllib.request.urlopen(request) as answer:
                text = answer.read()
            return json.loads(text) if text else None

        return asked

    return made


@pytest.fixture(scope="session")
def ask(site, asker):
    return asker(site)


@pytest.fixture(scope="session")
def plan_of(ask, site_folder):
    """Gives a small yard of any name its plan: plan_of(yard) is its id."""

    def of(yard, made=None):
        return put_plan(ask, site_folder, yard, made)

    return of


@pytest.fixture(scope="session")
def made(ask, plan_of):
    """A yard that nobody changes, and its plan."""
    yard = add_yard(ask, small_yard())
    return yard, plan_of(yard)


@pytest.fixture
def opened(made):
    """Open that plan on a page."""

    def open_on(page, tab=None):
        page.goto(f"/#/{made[0]}/plan")
        page.locator("[data-head]").first.wait_for()
        if tab:
            page.get_by_role("tab", name=tab).click()
        return made[1]

    return open_on


@pytest.fixture(scope="session")
def demo(ask, plan_of):
    """The demo yard, and its plan."""
    yard = ask("POST", "/api/yards/demo")["id"]
    return yard, plan_of(yard, planned_example("demo.yard.json"))


@pytest.fixture
def opened_demo(demo):
    """Open the plan of the demo yard on a page."""

    def open_on(page):
        page.goto(f"/#/{demo[0]}/plan")
        page.locator("[data-head]").first.wait_for()
        return demo[1]

    return open_on


@pytest.fixture
def keep_picture(request):
    """Keep a screenshot under the test's name, out of the repository, in CI or where SCREENS is set."""

    def kept(page, name=""):
        if not {"CI", "SCREENS"} & os.environ.keys():
            return
        SCREENS.mkdir(parents=True, exist_ok=True)
        stem = request.node.name.replace("[", "-").replace("]", "").removeprefix("test_")
        page.screenshot(path=SCREENS / f"{stem}{name and '-'}{name}.png")

    return kept


@pytest.fixture
def grave_faults():
    """Serious and critical faults that axe finds on a page, in words."""

    def found(page):
        page.evaluate(AXE.read_text(encoding="utf-8"))
        report = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        return [
            f"{fault['id']}: {fault['help']}: {[node['html'][:160] for node in fault['nodes']][:4]}"
            for fault in report["violations"]
            if fault["impact"] in ("serious", "critical")
        ]

    return found
