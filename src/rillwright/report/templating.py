"""The pages' templates, all read by the same rules."""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

__all__ = ["render"]


def render(template: str, **words: object) -> str:
    """Fill in a template with words; one that is missing is an error, and all are escaped."""
    return _environment().get_template(template).render(**words)


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("rillwright.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
