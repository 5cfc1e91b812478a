"""Packaged tables, a source on every row."""
