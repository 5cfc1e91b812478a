"""Drawings as PDF sheets, true to scale, by typst."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import matplotlib as mpl
import typst

__all__ = ["pdf_of"]


def pdf_of(drawings: Sequence[str]) -> bytes:
    """Put each SVG text on a page of its own size and return the PDF's bytes."""
    files: Any = {}  # typst's stubs do not know that it takes files by name
    pages: list[str] = []
    for number, svg in enumerate(drawings, start=1):
        name = f"sheet{number}.svg"
        files[name] = svg.encode()
        width, height = (svg.split(f'{side}="', 1)[1].split('"', 1)[0] for side in ("width", "height"))
        pages.append(
            f"#set page(width: {width}, height: {height}, margin: 0mm)\n"
            f'#image("{name}", width: {width}, height: {height})'
        )
    files["main"] = "\n#pagebreak()\n".join(pages).encode()
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return bytes(typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0))
