"""Why there is no design, in sentences for a page."""

from collections.abc import Iterator

from pinloom import messages
from pinloom.core.request import DesignOutcome, GaveUp, ProvedImpossible, Remedy

MOST_NAMES = 12


def refusal(outcome: DesignOutcome | None) -> Iterator[str]:
    """A proved refusal with its reason, or an honest giving up; nothing for a design."""
    if isinstance(outcome, ProvedImpossible):
        yield "Impossible on this hardware."
        yield messages.what(outcome.reason)
        yield messages.do(outcome.reason)
        if outcome.doors or outcome.keys:
            yield f"Doors in question: {some(outcome.doors)}. Keys: {some(outcome.keys)}."
    elif isinstance(outcome, GaveUp):
        yield f"No design was found in {outcome.steps:,} steps, and none was excluded."
        if outcome.reason is not None:
            yield messages.what(outcome.reason)
            yield messages.do(outcome.reason)


def helps(outcome: DesignOutcome | None) -> tuple[str, ...]:
    """What would help, each tried."""
    if isinstance(outcome, ProvedImpossible | GaveUp):
        return tuple(repair(one) for one in outcome.remedies)
    return ()


def repair(remedy: Remedy) -> str:
    """One change that would help."""
    return messages.wordings()[remedy.change].do.format(**dict(remedy.values))


def some(names: tuple[str, ...]) -> str:
    """Names in a row, the rest counted."""
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more:,} more" if more > 0 else "")
