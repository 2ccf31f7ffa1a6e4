"""The exit codes, a promise to scripts (docs/guide/commands.md)."""

from enum import IntEnum


class Exit(IntEnum):
    """How a command ended."""

    DONE = 0  # done and proved
    BUG = 1  # a bug in the program
    BAD_INPUT = 2
    IMPOSSIBLE = 3  # proved impossible
    GAVE_UP = 4  # within the budget
    FAULTS = 5  # proof failed or faults found; files are written, marked NOT PROVED
    STOPPED = 130  # by hand, as the shell counts it
