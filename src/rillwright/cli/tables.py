"""Tables on the terminal."""

from rich.table import Table

__all__ = ["plain_table"]


def plain_table(*columns: str, narrow: bool = False) -> Table:
    """A plain table; a column of figures starts with '>' and wraps only in a narrow one, which has many of them."""
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in columns:
        figures = column.startswith(">")
        table.add_column(column.lstrip(">"), justify="right" if figures else "left", no_wrap=figures and not narrow)
    return table
