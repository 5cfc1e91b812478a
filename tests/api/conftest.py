"""The interface on a store of its own, once for each file of tests that wants no other."""

import pytest

from web_client import served


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("data")


@pytest.fixture(scope="module")
def web(folder):
    with served(folder) as client:
        yield client
