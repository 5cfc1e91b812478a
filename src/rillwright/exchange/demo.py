"""The demo yard, which is invented, as it is packaged."""

import json
from importlib import resources
from typing import Any

__all__ = ["demo_document"]


def demo_document() -> dict[str, Any]:
    """The demo's yard document."""
    text = (resources.files("rillwright.data") / "demo.yard.json").read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document
