"""Numbers of the engine into names of the chart."""

from pinloom.core.findings import Finding, fault
from pinloom.core.request import DesignRequest
from pinloom.design.problem import DesignProblem
from pinloom.design.refusal import Refusal

MOST = 12  # names listed in a sentence; the rest is counted


class Names:
    """Names of keys and locks of one request."""

    def __init__(self, request: DesignRequest, problem: DesignProblem) -> None:
        self._request = request
        self._problem = problem

    def key(self, key: int) -> str:
        """A key's name; control keys as the files name them."""
        if key < self._problem.chart_keys:
            return self._request.chart.keys[key].name
        group = self._problem.controls[key - self._problem.chart_keys]
        return f"control:{group}" if group else "control"

    def doors(self, lock: int) -> tuple[str, ...]:
        """Names of a lock's doors. A control line goes by the name of its control key."""
        found = self._problem.locks[lock]
        if not found.doors:
            return (self.key(found.openers[0]),) if found.openers else ()
        return tuple(self._request.chart.doors[d].name for d in found.doors)

    def door(self, lock: int) -> str:
        """One door of a lock, enough to stand for it."""
        return self.doors(lock)[0]

    def finding(self, refusal: Refusal) -> Finding:
        """The reason of a refusal in the chart's names."""
        named = [(name, self.list_keys(keys)) for name, keys in refusal.key_names]
        named += [(name, self.list_doors(locks)) for name, locks in refusal.lock_names]
        return fault(
            refusal.code,
            None,
            None,
            **dict(refusal.values),
            **dict(named),
        )

    def list_keys(self, keys: tuple[int, ...]) -> str:
        """Names in a sentence, the rest counted."""
        return listed(tuple(self.key(k) for k in keys))

    def list_doors(self, locks: tuple[int, ...]) -> str:
        """Names in a sentence, the rest counted."""
        return listed(tuple(name for n in locks for name in self.doors(n)))


def listed(names: tuple[str, ...]) -> str:
    """At most ``MOST`` names, and how many more there are."""
    if len(names) <= MOST:
        return ", ".join(names)
    return f"{', '.join(names[: MOST - 1])} and {len(names) - MOST + 1} more"
