"""A design from the pins on hand: sizes as a hard rule, counts as a goal, or what to buy.

Sizes: only master pins on hand are used. Where no design exists with them, the fewest further sizes
that make one possible are looked for; "fewest" is claimed only when every smaller choice was proved
impossible.

Counts: pins a design is short of are counted, and a few further designs are tried (without a size
that runs short, and other seeds); the one that is short of the fewest pins is kept. No design can
be short of fewer master pins than the least number that any design needs less those on hand, so the
gap that is left is printed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bench import PartKind
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Claim, ClaimKind, Preference
from pinloom.core.request import Designed, DesignOutcome, DesignRequest, ProvedImpossible
from pinloom.design import design
from pinloom.pinning import (
    Kit,
    Purchase,
    Short,
    Verdict,
    fewest_sizes,
    master_shortage,
    master_sizes,
    parts,
    pin_job,
    short_of,
    shortage_bound,
)

__all__ = [
    "KitAnswer",
    "KitResult",
    "Purchase",
    "Short",
    "Verdict",
    "design_from_kit",
    "shortage",
]

Progress = Callable[[str], None]
Sizes = tuple[int, ...] | None

MOST_ATTEMPTS = 24  # designs tried for a purchase
MOST_TRIES = 6  # further designs tried for the counts


@dataclass(frozen=True, slots=True, kw_only=True)
class KitAnswer:
    """``bound`` = master pins that any design is short of at least; ``purchase`` = sizes to buy
    where no design exists with those on hand.
    """

    outcome: DesignOutcome
    bound: int = 0
    purchase: Purchase | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KitResult:
    """What the kit is short of for the job, control lines of cores included. ``bound`` = master
    pins that any design is short of at least; ``purchase`` = sizes to buy, where there is no job.
    """

    short: tuple[Short, ...]
    bound: int
    purchase: Purchase | None = None

    @property
    def masters_short(self) -> int:
        """Master pins among what is short."""
        return master_shortage(self.short)


def design_from_kit(
    request: DesignRequest, kit: Kit, progress: Progress | None = None
) -> KitAnswer:
    """A design with the pins on hand, or why there is none and what would help."""
    made = request.key_format
    sizes = master_sizes(kit, made)
    request = replace(request, master_pin_sizes=sizes)
    outcome = design(request, progress)
    if not isinstance(outcome, Designed):
        said = _verdict(outcome)
        purchase = None if sizes is None else _purchase(request, sizes, said, progress)
        return KitAnswer(outcome=outcome, purchase=purchase)
    bound = shortage_bound(kit, _least_masters(request, outcome.claims), made)
    return KitAnswer(outcome=_fewest_missing(request, kit, outcome, bound, progress), bound=bound)


def _fewest_missing(
    request: DesignRequest, kit: Kit, first: Designed, bound: int, progress: Progress | None
) -> Designed:
    """The best of some designs by what is short of each: best first, a design leads to those
    without a size that it lacks; then other seeds.
    """
    sizes = request.master_pin_sizes
    best = (_shortage(request, kit, first), first)
    open_ = [(best[0], sizes, first)]
    tried = {sizes}
    attempts = 0
    while best[0][0] > bound and attempts < MOST_TRIES:
        open_.sort(key=lambda found: found[0])
        chosen = _next(request, kit, open_, tried, attempts)
        attempts += 1
        if progress:
            progress("trying for fewer missing pins")
        other = design(chosen, progress)
        if isinstance(other, Designed):
            found = _shortage(request, kit, other)
            open_.append((found, chosen.master_pin_sizes, other))
            best = min(best, (found, other), key=lambda pair: pair[0])
    return best[1]


def _next(
    request: DesignRequest,
    kit: Kit,
    found: Sequence[tuple[tuple[int, int], Sizes, Designed]],
    tried: set[Sizes],
    attempts: int,
) -> DesignRequest:
    """The next request: the best design so far without a size that it lacks, or another seed."""
    for _, sizes, designed in found:
        for size in _lacking(request, kit, designed):
            left = tuple(other for other in sizes or () if other != size)
            if left and left not in tried:
                tried.add(left)
                return replace(request, master_pin_sizes=left)
    return replace(request, seed=request.seed + attempts + 1)


def shortage(request: DesignRequest, kit: Kit, outcome: Designed) -> tuple[Short, ...]:
    """What a design is short of."""
    formats = request.cylinder_formats
    pinned = pin_job(request.chart, request.key_format, formats, outcome.bittings, outcome.controls)
    return short_of(kit, parts(request.chart, formats, pinned.cylinders))


def _shortage(request: DesignRequest, kit: Kit, outcome: Designed) -> tuple[int, int]:
    """Master pins that are short, then pins of all kinds."""
    short = shortage(request, kit, outcome)
    return master_shortage(short), sum(one.missing for one in short)


def _lacking(request: DesignRequest, kit: Kit, designed: Designed) -> list[int]:
    """Sizes of master pins of which a design lacks some."""
    return [
        int(one.part.size)
        for one in shortage(request, kit, designed)
        if one.part.kind is PartKind.MASTER
    ]


def _least_masters(request: DesignRequest, claims: tuple[Claim, ...]) -> int:
    """The least number of master pins that any design with these sizes needs, as far as proved."""
    if request.preference is not Preference.FEWEST_MASTER_PINS or not claims:
        return 0
    claim = claims[0]
    if claim.kind is ClaimKind.PROVED_LEAST:
        return claim.value
    return claim.bound or 0


def _purchase(
    request: DesignRequest, sizes: tuple[int, ...], said: Verdict, progress: Progress | None
) -> Purchase | None:
    """Sizes to buy; None when every size is on hand."""
    made = _made_sizes((request.key_format, *request.cylinder_formats))
    if set(made) <= set(sizes):
        return None

    def attempt(chosen: tuple[int, ...]) -> Verdict:
        if progress:
            progress(f"trying master pins of {' '.join(map(str, chosen)) or 'no size'}")
        return _verdict(design(replace(request, master_pin_sizes=chosen), progress))

    return fewest_sizes(sizes, made, attempt, MOST_ATTEMPTS, said)


def _verdict(outcome: DesignOutcome) -> Verdict:
    if isinstance(outcome, Designed):
        return Verdict.POSSIBLE
    return Verdict.IMPOSSIBLE if isinstance(outcome, ProvedImpossible) else Verdict.UNKNOWN


def _made_sizes(formats: tuple[HardwareFormat, ...]) -> tuple[int, ...]:
    """Sizes of master pins that every cylinder of the job takes."""
    common = set(formats[0].master_pins)
    for made in formats[1:]:
        common &= set(made.master_pins)
    return tuple(sorted(common))
