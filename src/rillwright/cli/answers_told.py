"""The field log's conclusions on the terminal."""

from collections.abc import Sequence

from rich.console import Console

from rillwright.jobs.answers import Answer

__all__ = ["print_answers"]


def print_answers(answers: Sequence[Answer]) -> None:
    """Print conclusions: the verdict first, what it rests on, what to do."""
    console = Console()

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style)

    if not answers:
        say("The log holds nothing to conclude from yet: no supply test, leak watch, start-up, setting or catch cups.")
    for answer in answers:
        say(f"\n{answer.subject[0].upper()}{answer.subject[1:]}: {answer.verdict}", "bold")
        for line in answer.says:
            say(f"  {line}")
        for line in answer.do:
            say(f"  Do: {line}")
        if answer.workings:
            first, number = answer.workings[0].key, len(answer.workings)
            say(f"  Working: rillwright explain PLAN '{first}' --log LOG; {number} numbers in all", "dim")
