"""Exit codes of every command. 0: done, and the plan fits."""

__all__ = ["BAD_INPUT", "DOES_NOT_FIT", "STOPPED"]

BAD_INPUT = 2
DOES_NOT_FIT = 3  # the yard was planned
STOPPED = 130  # by the user; `plan` then writes the best plan that it has, if it has a complete one
