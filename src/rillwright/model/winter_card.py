"""The winter card in words: what page, paper and terminal show, in the yard's units."""

from pydantic import BaseModel, ConfigDict

__all__ = ["CardPart", "CardTable", "WinterCard"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class CardPart(_Frozen):
    """One part of the card: what to do, in order."""

    title: str
    says: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()


class CardTable(_Frozen):
    """Figures; the first column names the row."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    keys: tuple[str, ...] = ()  # of a working, for each row
    note: str = ""


class WinterCard(_Frozen):
    """All of it."""

    yard: str
    headline: str
    tonight: CardPart | None
    parts: tuple[CardPart, ...]
    tables: tuple[CardTable, ...]
    assumed: tuple[str, ...]
