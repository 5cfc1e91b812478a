"""The build's steps, without dates, to be ticked off; dates by crew and weather are the build guide's."""

from rillwright.model.guide import PartTaken
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.palette import CAUTION
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Flow

__all__ = ["step_sheets"]


def step_sheets(book: Book) -> None:
    """Each step with its cautions, what must be so before, what to do, what it uses, and the test that ends it."""
    told = book.told
    if not told.steps:
        return
    flow = Flow(book, "Build steps", columns=2)
    for number, step in enumerate(told.steps, start=1):
        flow.heading(f"{number}. {step.title}")
        for caution in step.cautions:
            flow.paragraph(caution.words, fill=CAUTION)
        if step.before:
            flow.paragraph(f"First: {'; '.join(step.before)}.")
        flow.boxes([item.words + (f" ({item.note})" if item.note else "") for item in step.items])
        if step.tools:
            flow.paragraph(f"Tools: {', '.join(step.tools)}.")
        if step.parts:
            flow.paragraph(f"Parts: {', '.join(_taken(part, told.plan) for part in step.parts)}.")
        flow.paragraph(f"Done when: {step.ends}.")
        waits = dict.fromkeys(after.wait.why for after in step.after if after.wait)
        if waits:
            flow.paragraph(f"Wait first for: {'; '.join(waits)}.")


def _taken(taken: PartTaken, plan: Plan) -> str:
    number = show(taken.quantity, "length", plan.yard.units) if taken.unit == "m" else f"{taken.quantity:.0f}"
    return f"{number} {taken.part}"
