"""For all tests: what a file's tests share is made once, and no example drawn by hypothesis fails for its time."""

import pytest
from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")


def pytest_collection_modifyitems(items):
    """Keep the tests of a file in one process, where no group of their own is named: two would make all of it twice."""
    for item in items:
        if item.get_closest_marker("xdist_group") is None:
            item.add_marker(pytest.mark.xdist_group(f"{item.path.parent.name}/{item.path.stem}"))
