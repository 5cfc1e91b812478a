"""The field log's conclusions on the terminal."""

import difflib
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console

from rillwright.cli.summary import print_working
from rillwright.errors import InputError
from rillwright.exchange.log_file import load_log
from rillwright.jobs.answers import Answer, answer_log
from rillwright.jobs.write import read_plan
from rillwright.model.parts import Catalogue

__all__ = ["answer_files"]


def answer_files(plan: Path, log: Path, catalogue: Catalogue, *, what: str, seed: int) -> None:
    """Print every conclusion, or the working of one number. Errors: InputError."""
    document = read_plan(plan)
    answers = answer_log(document, load_log(log), catalogue, seed=seed)
    if not what:
        print_answers(answers)
        return
    workings = {working.key.lower(): working for answer in answers for working in answer.workings}
    wanted = what.strip().lower()
    if wanted not in workings:
        near = [key for key in workings if key.startswith(wanted)] or difflib.get_close_matches(wanted, workings, n=8)
        raise InputError(f"no conclusion holds a number named '{what}'. Near it: {', '.join(near[:8]) or 'none'}.")
    print_working(document, workings[wanted])


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
            names = ", ".join(f"'{working.key}'" for working in answer.workings[:3])
            say(f"  Working: --explain {names}; {len(answer.workings)} numbers in all", "dim")
