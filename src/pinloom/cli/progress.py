"""A line about work that takes longer than a second, on standard error.

In a terminal one line is rewritten; elsewhere a new line comes seldom, so that a log stays short.
"""

import sys
from types import TracebackType

from pinloom.workflow import clock

QUIET_SECONDS = 1.0
_TICK = 0.2  # seconds between two changes of a terminal's line
_WIDTH = 79


class Progress:
    """Give it to a use case as its ``progress``; leaving the ``with`` clears the line."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._start = clock.seconds()
        self._next = self._start + QUIET_SECONDS
        self._quiet = quiet
        self._live = sys.stderr.isatty()
        self._shown = False

    def __call__(self, line: str) -> None:
        """Something new is known; shown when the last one has stood long enough."""
        now = clock.seconds()
        if self._quiet or now < self._next:
            return
        spent = now - self._start
        text = f"  {spent:5.0f} s  {line}"[:_WIDTH]
        if self._live:
            sys.stderr.write(f"\r{text:<{_WIDTH}}")
            self._next = now + _TICK
        else:
            sys.stderr.write(f"{text}\n")
            self._next = now + max(QUIET_SECONDS, spent)  # 1, 2, 4, 8, ... seconds
        sys.stderr.flush()
        self._shown = True

    def __enter__(self) -> "Progress":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._shown and self._live:
            sys.stderr.write(f"\r{'':<{_WIDTH}}\r")
            sys.stderr.flush()
