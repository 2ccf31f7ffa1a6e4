"""Counts, census and margins equal those of a plain listing, and keep their properties."""

from collections import Counter
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.audit import Audit, Reach, as_json, audit
from pinloom.core.bitting import keeps_macs
from pinloom.core.chart import KeyStanding
from pinloom.core.job import Job
from pinloom.core.stacks import PinStack
from tests.audit.brute import combinations, cuttable, histogram, opened
from tests.audit.jobs import job_of
from tests.audit.strategies import jobs, mirrored
from tests.proof.simulator import distances

few = settings(max_examples=150)


@few
@given(jobs())
def test_combinations_equal_the_listing(job: Job) -> None:
    """Exact and tolerant combinations of every door are those of an enumeration; the issued ones
    are the job's distinct cuttable bittings among the tolerant.
    """
    found = audit(job).doors
    assert [one.exact for one in found] == combinations(job, tolerant=False)
    assert [one.tolerant for one in found] == combinations(job, tolerant=True)
    hits = Counter(
        door
        for bitting in set(job.bittings)
        if keeps_macs(bitting, job.key_format.macs)
        for door in opened(job, bitting, tolerant=True)
    )
    assert [one.issued for one in found] == [hits[door] for door in range(len(found))]


@few
@given(jobs())
def test_census_equals_the_listing(job: Job) -> None:
    """Both histograms are those of an enumeration, and cover every cuttable key."""
    found = audit(job)
    assert [one.reach for one in found.census] == [Reach.EXACT, Reach.TOLERANT]
    for census in found.census:
        assert Counter(dict(census.opens)) == histogram(job, census.reach is Reach.TOLERANT)
    exact = found.exact
    assert exact is not None
    assert as_json(found)["census"] == {"opens": {str(n): keys for n, keys in exact.opens}}


@few
@given(jobs())
def test_strongest_incidental_keys(job: Job) -> None:
    """The incidental keys are the strongest of those nobody ordered, with the nearest key named."""
    made = job.key_format
    for census in audit(job).census:
        tolerant = census.reach is Reach.TOLERANT
        listed = [
            (-len(opened(job, bitting, tolerant)), bitting)
            for bitting in cuttable(made.chambers, made.levels, made.macs)
            if bitting not in job.bittings
        ]
        wanted = [(-doors, bitting) for doors, bitting in sorted(listed) if doors <= -2][:10]
        assert [(one.doors, one.levels) for one in census.strongest] == wanted
        for one in census.strongest:
            other = [
                sum(a != b for a, b in zip(one.levels, own, strict=True)) for own in job.bittings
            ]
            assert one.cuts == min(other)
            assert one.nearest == job.chart.keys[other.index(min(other))].name


@few
@given(jobs())
def test_margins_equal_the_listing(job: Job) -> None:
    """Margins of all refusals, weakest pairs, fragile doors and what one step more would open."""
    made = job.key_format
    margins: Counter[tuple[int, int]] = Counter()
    pairs, fragile = [], Counter[str]()
    for d, door in enumerate(job.chart.doors):
        for k, key in enumerate(job.chart.keys):
            away = distances(job.bittings[k], job.pinning[d], made)
            far = [steps for steps in away if steps >= made.least_step]
            if k in job.chart.openers[d] or not far:
                continue
            margins[len(far), max(far)] += 1
            pairs.append((len(far), max(far), d, k))
            fragile[door.name] += (len(far), max(far)) == (1, made.least_step)
            assert key.standing is KeyStanding.ACTIVE
    found = audit(job).neighbours
    assert found.pairs == len(pairs)
    assert {(c, s): n for c, s, n in found.margins} == dict(margins)
    assert list(found.margins) == sorted(found.margins)
    told = [(one.chambers, one.steps, one.door, one.key) for one in found.weakest]
    doors, keys = job.chart.doors, job.chart.keys
    assert told == [(c, s, doors[d].name, keys[k].name) for c, s, d, k in sorted(pairs)][:20]
    assert {one.door: one.keys for one in found.fragile} == dict(+fragile)
    assert found.one_step_more == sum(steps == made.least_step for _, steps, _, _ in pairs)


@few
@given(jobs(), st.data())
def test_a_master_pin_more_never_lowers_a_count(job: Job, data: st.DataObject) -> None:
    """Adding a master pin to one stack lowers no count of that door and changes no other door's."""
    places = [
        (d, c)
        for d, cylinder in enumerate(job.pinning)
        for c, stack in enumerate(cylinder.chambers)
        if stack is not None and stack.cuts()[-1] < job.key_format.levels - 1
    ]
    if not places:
        return
    door, chamber = data.draw(st.sampled_from(places))
    stack = job.pinning[door].chambers[chamber]
    assert isinstance(stack, PinStack)
    size = data.draw(st.integers(1, job.key_format.levels - 1 - stack.cuts()[-1]))
    chambers = list(job.pinning[door].chambers)
    chambers[chamber] = replace(stack, masters=(*stack.masters, size))
    pinning = list(job.pinning)
    pinning[door] = replace(pinning[door], chambers=tuple(chambers))
    before = audit(job)
    after = audit(job_of(job.chart, job.key_format, job.bittings, pinning))
    for d, (old, new) in enumerate(zip(before.doors, after.doors, strict=True)):
        if d == door:
            assert new.exact >= old.exact
            assert new.tolerant >= old.tolerant
        else:
            assert new == old
    for old_census, new_census in zip(before.census, after.census, strict=True):
        assert new_census.opening >= old_census.opening


@few
@given(jobs())
def test_union_and_sum(job: Job) -> None:
    """Keys that open a door are no more than the doors' combinations together, which are the
    census weighted by doors; and no fewer than the largest door's.
    """
    found = audit(job)
    for census in found.census:
        exact = census.reach is Reach.EXACT
        per_door = [one.exact if exact else one.tolerant for one in found.doors]
        assert max(per_door) <= census.opening <= sum(per_door)
        assert sum(doors * keys for doors, keys in census.opens) == sum(per_door)


@few
@given(jobs())
def test_relabelled_depths_change_nothing(job: Job) -> None:
    """Turning the depths round, shallow for deep, changes no figure."""

    def figures(one: Audit) -> object:
        return (
            [(d.exact, d.tolerant, d.issued) for d in one.doors],
            [(c.opens, [k.doors for k in c.strongest]) for c in one.census],
            one.neighbours,
            one.exposure,
            one.standards,
        )

    assert figures(audit(job)) == figures(audit(mirrored(job)))


def test_generator_is_not_trivial() -> None:
    """Random jobs have incidental keys, MACS that forbids keys, faults and proofs."""
    seen: Counter[str] = Counter()

    @settings(max_examples=200)
    @given(jobs())
    def collect(job: Job) -> None:
        found = audit(job)
        made = job.key_format
        exact = found.exact
        assert exact is not None
        seen["incidental"] += bool(exact.strongest)
        seen["forbidden"] += exact.keys < made.levels**made.chambers
        seen["proved"] += job.proof.proved
        seen["faulty"] += not job.proof.proved
        seen["refusals"] += found.neighbours.pairs > 0

    collect()
    assert all(seen[name] > 10 for name in ("incidental", "forbidden", "proved", "faulty"))
    assert seen["refusals"] > 10
