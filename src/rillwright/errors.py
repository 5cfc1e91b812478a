"""Every error a user can meet, in one tree.

RillwrightError
├── InputError            a file or value the user gave cannot be used
│   ├── YardError         a yard document breaks its rules; carries one problem per broken rule
│   ├── UnitError         a quantity has a unit that does not fit, or none
│   └── TableError        a CSV table (charts, prices) cannot be read
├── NotExplainedError          no number of that name in the plan
├── NotFoundError         the store holds no such yard, revision, plan or picture
├── StaleError            a document was changed since the one that was saved was read; carries a merge
├── StateError            the thing is in a state that does not allow what was asked
└── SolverError           a solver could not end as it promises; always a fault to report

A plan that does not fit its limits is not an error: it is a plan with `must` findings and ways out.
"""

from dataclasses import dataclass

__all__ = [
    "InputError",
    "NotExplainedError",
    "NotFoundError",
    "Problem",
    "RillwrightError",
    "SolverError",
    "StaleError",
    "StateError",
    "TableError",
    "UnitError",
    "YardError",
]


class RillwrightError(Exception):
    """Base of all errors this package raises on purpose."""


class InputError(RillwrightError):
    """A file or value the user gave cannot be used."""


class UnitError(InputError):
    """A quantity has a unit that does not fit its use, or cannot be read."""


class TableError(InputError):
    """A CSV table cannot be read: says file, row, column, value and what is allowed."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One broken rule in a document."""

    path: str  # place in the file, e.g. 'areas[2].outline'
    value: str  # what stands there, shortened
    allowed: str  # what may stand there, or what to do


class YardError(InputError):
    """A yard document breaks its rules."""

    def __init__(self, source: str, problems: tuple[Problem, ...]) -> None:
        self.source = source
        self.problems = problems
        lines = [f"{source}: {len(problems)} problem{'s' if len(problems) != 1 else ''}"]
        lines += [f"  at {p.path}: {p.value}. {p.allowed}" for p in problems]
        super().__init__("\n".join(lines))


class NotExplainedError(RillwrightError):
    """No number of that name in the plan."""

    def __init__(self, what: str, near: tuple[str, ...], *, lists: str = "explain PLAN") -> None:
        self.what = what
        self.near = near
        hint = f" Near it: {', '.join(near)}." if near else ""
        super().__init__(f"The plan holds no number named '{what}'.{hint} `rillwright {lists}` lists all.")


class NotFoundError(RillwrightError):
    """The store holds no such thing."""

    def __init__(self, kind: str, name: object) -> None:
        self.kind = kind
        super().__init__(f"There is no {kind} '{name}' here: it was never made, or is deleted for good.")


class StaleError(RillwrightError):
    """A document was changed since the one that was saved was read."""

    def __init__(self, *, expected: int, current: int) -> None:
        self.expected = expected
        self.current = current
        super().__init__(
            f"The yard is at revision {current} by now, and these changes were made to revision {expected}. "
            "Choose what to keep of both, and save that."
        )


class StateError(RillwrightError):
    """The thing is in a state that does not allow what was asked."""


class SolverError(RillwrightError):
    """A solver could not end as it promises."""
