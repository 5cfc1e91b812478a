"""For all tests: no example drawn by hypothesis fails for the time it takes."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
