"""What took long to make, kept in memory until the page is locked: audits and sheets."""

import threading
from collections.abc import Callable
from typing import TypeVar

MOST = 8

T = TypeVar("T")


class Kept:
    """The last few things by key. Safe for threads; two that ask at once may both make it."""

    def __init__(self) -> None:
        self._things: dict[tuple[str, ...], object] = {}
        self._guard = threading.Lock()

    def get(self, key: tuple[str, ...], kind: type[T]) -> T | None:
        """What is kept under a key."""
        with self._guard:
            found = self._things.get(key)
        return found if isinstance(found, kind) else None

    def put(self, key: tuple[str, ...], thing: object) -> None:
        """Keep something; the oldest goes when there is too much."""
        with self._guard:
            self._things.pop(key, None)
            while len(self._things) >= MOST:
                self._things.pop(next(iter(self._things)))
            self._things[key] = thing

    def made(self, key: tuple[str, ...], kind: type[T], make: Callable[[], T]) -> T:
        """What is kept under a key, made now where it is not there."""
        found = self.get(key, kind)
        if found is None:
            found = make()
            self.put(key, found)
        return found

    def forget(self) -> None:
        """Drop everything."""
        with self._guard:
            self._things.clear()
