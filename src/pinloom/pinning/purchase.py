"""The fewest sizes of master pins to buy so that a design exists at all.

Theory of operation. ``attempt(sizes)`` says whether a design exists with master pins of these sizes
only. More sizes never hurt, so what is known of one choice tells of its subsets or supersets. First
all sizes together, then none and one more; if that is not enough each missing size in turn is left
out of all, and where that is impossible the size is needed in every answer; then choices of two and
more. The answer is proved least when every smaller choice was proved impossible, and only then; a
choice on which the designer gave up leaves a gap.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations


class Verdict(Enum):
    """What a designer said about one choice of sizes."""

    POSSIBLE = "possible"
    IMPOSSIBLE = "impossible"
    UNKNOWN = "gave up"


Attempt = Callable[[tuple[int, ...]], Verdict]


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Sizes to buy, in steps; None when none was found. ``verdict``: POSSIBLE = with these sizes a
    design was found; IMPOSSIBLE = not even with every size; UNKNOWN = gave up. ``least`` = fewer
    sizes were proved not to do. ``tried`` counts attempts.
    """

    sizes: tuple[int, ...] | None
    verdict: Verdict
    least: bool
    tried: int


def fewest_sizes(
    on_hand: Sequence[int],
    made: Sequence[int],
    attempt: Attempt,
    most_attempts: int = 64,
    said: Verdict | None = None,
) -> Purchase:
    """The fewest sizes of ``made`` that, with those on hand, let a design exist. Ties go to the
    smaller sizes. Sizes on hand that are not made are left out. ``said`` = what is known already of
    the sizes on hand alone.
    """
    search = _Search(sorted(set(on_hand) & set(made)), attempt, most_attempts)
    if said is not None:
        search.learn((), said)
    missing = sorted(set(made) - set(on_hand))
    known = search.ask(missing)
    if known is Verdict.POSSIBLE:
        return _smallest(search, missing)
    return Purchase(sizes=None, verdict=known, least=False, tried=search.tried)


def _smallest(search: "_Search", missing: list[int]) -> Purchase:
    needed: list[int] = []
    certain = True
    for count in range(len(missing) + 1):
        if count == 2:
            # One size is not enough: from here on it pays to know the sizes nothing can do without.
            needed = [
                size
                for size in missing
                if search.ask([m for m in missing if m != size]) is Verdict.IMPOSSIBLE
            ]
        for chosen in combinations(missing, count):
            if not set(needed) <= set(chosen):
                continue
            said = search.ask(chosen)
            if said is Verdict.POSSIBLE:
                return Purchase(sizes=chosen, verdict=said, least=certain, tried=search.tried)
            certain &= said is Verdict.IMPOSSIBLE
    verdict = Verdict.IMPOSSIBLE if certain else Verdict.UNKNOWN
    return Purchase(sizes=None, verdict=verdict, least=False, tried=search.tried)


class _Search:
    """Attempts so far. What is known of one choice tells of its subsets and supersets."""

    def __init__(self, on_hand: list[int], attempt: Attempt, most: int) -> None:
        self._on_hand = on_hand
        self._attempt = attempt
        self._most = most
        self._known: dict[frozenset[int], Verdict] = {}
        self.tried = 0

    def learn(self, bought: Sequence[int], verdict: Verdict) -> None:
        """Take a verdict that was reached elsewhere."""
        self._known[frozenset(bought)] = verdict

    def ask(self, bought: Sequence[int]) -> Verdict:
        """The designer's word on one choice, asked once; UNKNOWN when the attempts are used up."""
        choice = frozenset(bought)
        for other, verdict in self._known.items():
            if verdict is Verdict.POSSIBLE and other <= choice:
                return verdict
            if verdict is Verdict.IMPOSSIBLE and choice <= other:
                return verdict
        if choice not in self._known:
            if self.tried >= self._most:
                return Verdict.UNKNOWN
            self.tried += 1
            self._known[choice] = self._attempt(tuple(sorted({*self._on_hand, *choice})))
        return self._known[choice]
