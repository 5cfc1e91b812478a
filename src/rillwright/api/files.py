"""Files that are made here, as answers: never run as a page of this origin."""

from pathlib import PurePath

from fastapi import Response

__all__ = ["file_response"]

_MEDIA = {
    ".json": "application/json",
    ".html": "text/html; charset=utf-8",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".dxf": "image/vnd.dxf",
    ".csv": "text/csv; charset=utf-8",
    ".geojson": "application/geo+json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".ics": "text/calendar; charset=utf-8",
    ".jsonl": "application/x-ndjson",
}
_CSP = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox allow-popups"


def file_response(name: str, data: bytes, *, download: bool) -> Response:
    """A file of ours by its name, to be looked at or saved."""
    place = "attachment" if download else "inline"
    headers = {"Content-Disposition": f'{place}; filename="{name}"', "Content-Security-Policy": _CSP}
    return Response(data, media_type=_MEDIA[PurePath(name).suffix], headers=headers)
