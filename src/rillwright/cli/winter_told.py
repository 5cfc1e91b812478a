"""The winter card on the terminal."""

from rich.console import Console

from rillwright.cli.tables import plain_table
from rillwright.model.winter_card import WinterCard

__all__ = ["print_card"]


def print_card(card: WinterCard) -> None:
    """Print the card: headline, tonight, what to do, figures."""
    console = Console()

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style)

    say(card.headline, "bold")
    for part in ((card.tonight,) if card.tonight else ()) + card.parts:
        say(f"\n{part.title}", "bold")
        for line in part.cautions:
            say(f"  Caution: {line}")
        for line in part.says:
            say(f"  {line}")
        for line in part.steps:
            say(f"  - {line}")
    for told in card.tables:
        say(f"\n{told.title}", "bold")
        table = plain_table(*told.columns)
        for row in told.rows:
            table.add_row(*row)
        console.print(table)
        if told.note:
            say(told.note, "dim")
        explained = [key for key in told.keys if key]
        if explained:
            say(f"Working: --explain '{explained[0]}'", "dim")
    for line in card.assumed:
        say(f"\n{line}", "dim")
