"""`rillwright openapi`: the interface of the web application, described."""

import typer

__all__ = ["openapi"]


def openapi() -> None:
    """Print the OpenAPI description of the web application."""
    import json

    from rillwright.api.app import openapi_document

    typer.echo(json.dumps(openapi_document(), indent=1, ensure_ascii=False))
