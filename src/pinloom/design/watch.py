"""Signs of life. A line is offered at every slice of work; whoever shows them holds the clock and
shows none of a search that is over within a second.
"""

from collections.abc import Callable

from pinloom.design.sat import Alive

CONFLICTS = 10  # of the solver make one step of a budget
Progress = Callable[[str], None]


class Watch(Alive):
    """Turns slices into lines about what the engine is doing."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._doing = ""

    def doing(self, what: str) -> None:
        """Name the work that begins now."""
        self._doing = what
        self.say(what)

    def say(self, line: str) -> None:
        """One line, as it is."""
        if self._progress is not None:
            self._progress(line)

    def tick(self, conflicts: int) -> None:
        """Between two slices of the solver."""
        self.say(f"{self._doing}: {conflicts // CONFLICTS} steps")
