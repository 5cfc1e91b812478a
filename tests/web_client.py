"""The web application under test: on a folder of its own, asked as a browser on this machine would ask."""

from contextlib import contextmanager

from starlette.testclient import TestClient

from rillwright.api.app import create_app

HOME = "http://127.0.0.1:8765"


@contextmanager
def served(folder, *, sharing=None, base=HOME, peer="127.0.0.1"):
    app = create_app(folder, sharing=sharing)
    with TestClient(app, base_url=base, client=(peer, 50000), raise_server_exceptions=False) as client:
        yield client
