"""Yards in and out of open file formats."""
