"""What is kept between runs: yards with every revision, plans, the field log and pictures, in one SQLite file.

Knows documents and nothing of how a plan is made.
"""

from rillwright.store.store import Store, default_folder

__all__ = ["Store", "default_folder"]
