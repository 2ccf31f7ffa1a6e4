"""The wanted charts of all jobs that are being edited, one record each."""

import threading

from pinloom.core.chart import AccessChart
from pinloom.workflow.shelf import Shelved
from pinloom.workflow.wanted import Wanted


class WantedBook:
    """By folder name. Safe for threads."""

    def __init__(self) -> None:
        self._open: dict[str, Wanted] = {}
        self._guard = threading.Lock()

    def of(self, shelved: Shelved, present: AccessChart) -> Wanted:
        """The wanted chart of one job."""
        with self._guard:
            if shelved.name not in self._open:
                self._open[shelved.name] = Wanted(shelved.folder, present)
            return self._open[shelved.name]

    def forget(self) -> None:
        """Drop all from memory; what was written is on disk."""
        with self._guard:
            self._open.clear()
