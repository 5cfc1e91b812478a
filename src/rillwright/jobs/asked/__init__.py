"""What is asked of an entry before it is kept: each figure that can hardly be, and why."""

from collections.abc import Sequence
from dataclasses import replace

from rillwright.jobs.asked.ground import ground_questions
from rillwright.jobs.asked.money import money_questions
from rillwright.jobs.asked.names import name_questions
from rillwright.jobs.asked.question import Known, Question
from rillwright.jobs.asked.water import water_questions
from rillwright.jobs.asked.zones import zone_questions
from rillwright.model.field_log import Entry

__all__ = ["Known", "Question", "questions_on"]

_ASKERS = (name_questions, water_questions, zone_questions, ground_questions, money_questions)


def questions_on(entry: Entry, known: Known) -> Sequence[Question]:
    """What is to be asked of an entry, less what its writer has confirmed; nothing of one that withdraws.

    Parameters: entry; known, what is known of the yard. The same rules serve the command
    line, the interface and the page.
    """
    if entry.withdraws:
        return ()
    if entry.corrects is not None:  # the value that is put right speaks no longer
        others = [one for one in known.log if entry.corrects not in (one.id, one.corrects)]
        known = replace(known, log=others)
    found: dict[str, Question] = {}
    for ask in _ASKERS:
        for question in ask(entry, known):
            found.setdefault(question.rule, question)  # one of a kind is enough to look at
    return tuple(question for rule, question in found.items() if rule not in entry.confirmed)
