"""Migrations of the store, run when it is opened."""
