"""Rillwright: plan and build an in-ground sprinkler system that the measured water supply can really feed."""

__all__ = ["__version__"]

__version__ = "0.1.0"
