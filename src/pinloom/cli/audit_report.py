"""An audit on the screen: combinations, census, margins, exposure, standards, comparison.

Cuts of keys that nobody ordered are shown on request only: such a list is as good as a master key.
"""

from collections import Counter
from collections.abc import Sequence

from pinloom.cli.screen import Screen
from pinloom.core.findings import Finding
from pinloom.core.job import Claim, Job
from pinloom.messages.words import CLAIMS
from pinloom.workflow.audit import (
    Audit,
    AuditResult,
    Comparison,
    Countermeasure,
    DoorCount,
    IncidentalKey,
    bins_of,
)

MOST_ROWS = 60
MOST_PAIRS = 10
BETTER = {-1: "this", 0: "", 1: "other"}


class AuditReport:
    """Shows one audit, part by part."""

    def __init__(self, screen: Screen, job: Job, audit: Audit, *, full: bool) -> None:
        self._screen = screen
        self._job = job
        self._audit = audit
        self._full = full

    def show(self, result: AuditResult, findings: Sequence[Finding], show_cuts: bool) -> None:
        """Everything, the figures first and what to do about them last."""
        self._figures()
        self._doors()
        self._census()
        self._strongest(show_cuts)
        self._margins()
        self._exposure()
        self._standards()
        if result.comparison is not None:
            self._compare(result.comparison)
        remarks = (*findings, *self._audit.findings)
        if remarks:
            self._screen.heading("To look at")
            self._screen.findings(remarks)
        self._verdict()
        if result.pictures:
            self._screen.always(f"Pictures: {', '.join(result.pictures)}.")

    def _figures(self) -> None:
        audit, job = self._audit, self._job
        self._screen.heading(f"What else opens these doors: {job.name}, revision {job.revision}")
        facts = [
            ("cylinders", f"{len(audit.doors):,} of the chart"),
            ("keys", f"{len(job.chart.keys):,}"),
            ("incidental", f"{audit.incidental:,} combinations, all doors together"),
        ]
        census = audit.tolerant
        if census is not None:
            facts.append(("key space", f"{census.keys:,} keys can be cut"))
            facts.append(("of these open a door", f"{census.opening:,}"))
        self._screen.facts(facts)

    def _doors(self) -> None:
        self._screen.heading("Combinations that operate each door")
        at_stake = {one.door: one.at_stake for one in self._audit.exposure}
        doors = self._chosen()
        rows = [
            (
                one.door,
                f"{one.exact:,}",
                f"{one.tolerant:,}",
                str(one.issued),
                str(one.master_pins),
                at_stake[one.door],
            )
            for one in doors
        ]
        heads = ("door", "exact", "tolerant", "issued", "master pins", "at stake")
        self._screen.table(heads, rows, heads[1:5], ("at stake",))
        if len(doors) < len(self._audit.doors):
            self._screen.say(
                f"The {len(doors)} doors with most combinations; --full shows all"
                f" {len(self._audit.doors):,}."
            )
        self._screen.say(
            "exact: at distance 0 in every chamber. tolerant: nearer than the least step in every "
            "chamber, so wear and clearance may let them. issued: keys of this job among these."
        )

    def _chosen(self) -> Sequence[DoorCount]:
        doors = self._audit.doors
        if self._full or len(doors) <= MOST_ROWS:
            return doors
        worst = sorted(range(len(doors)), key=lambda i: (-doors[i].tolerant, i))[:MOST_ROWS]
        return [doors[i] for i in sorted(worst)]

    def _census(self) -> None:
        bins = bins_of(self._audit)
        if not bins:
            return
        self._screen.heading("Every key that can be cut, by the doors it opens")
        heads = ("doors", "keys, exact", "keys, tolerant")
        rows = [(one.label, f"{one.exact:,}", f"{one.tolerant:,}") for one in bins]
        self._screen.table(heads, rows, heads)

    def _strongest(self, show_cuts: bool) -> None:
        for census in self._audit.census:
            if not census.strongest:
                continue
            self._screen.heading(f"Strongest keys nobody ordered ({census.reach.value})")
            heads = ("opens doors", "differs in cuts", "from key", "its cuts (confidential)")
            rows = [self._incidental(one, show_cuts) for one in census.strongest]
            self._screen.table(heads, rows, heads[:2], heads[2:3])
        if not show_cuts and any(census.strongest for census in self._audit.census):
            self._screen.say("Their cuts are left out; --show-cuts shows them.")

    def _incidental(self, one: IncidentalKey, show_cuts: bool) -> tuple[str, str, str, str]:
        cuts = self._job.key_format.stamp(one.levels) if show_cuts else ""
        return f"{one.doors:,}", str(one.cuts), one.nearest, cuts

    def _margins(self) -> None:
        found = self._audit.neighbours
        if not found.pairs:
            return
        self._screen.heading("What keeps keys out")
        heads = ("chambers", "best of them, steps", "refusals")
        margins = found.margins if self._full else found.margins[:MOST_PAIRS]
        rows = [(str(c), str(steps), f"{pairs:,}") for c, steps, pairs in margins]
        self._screen.table(heads, rows, heads)
        weakest = found.weakest if self._full else found.weakest[:MOST_PAIRS]
        self._screen.say("The weakest refusals:")
        self._screen.table(
            ("door", "key", "chambers", "steps"),
            [(one.door, one.key, str(one.chambers), str(one.steps)) for one in weakest],
            ("chambers", "steps"),
            ("key",),
        )
        self._screen.facts(
            [
                ("on one chamber and one least step", f"{len(found.fragile):,} doors"),
                ("open at one step more", f"{found.one_step_more:,} of {found.pairs:,} refusals"),
            ]
        )

    def _exposure(self) -> None:
        audit = self._audit
        if not audit.masters:
            return
        self._screen.heading("Exposure: keys at stake through doors of lesser keys")
        heads = ("key", "opens", "shared doors", "lesser keys at one", "trials at most")
        masters = audit.masters if self._full else audit.masters[:MOST_PAIRS]
        rows = [
            (
                one.key,
                f"{one.behind:,}",
                f"{one.through:,}",
                f"{one.holders:,}",
                str(one.least_trials),
            )
            for one in masters
        ]
        self._screen.table(heads, rows, heads[1:])
        lowers: Counter[Countermeasure] = Counter()
        for door in audit.exposure:
            lowers.update(door.lowers)
        self._screen.say("What lowers it, and at how many doors:")
        self._screen.points(
            f"{one.value} ({_many(lowers[one], 'door')})" for one in Countermeasure if lowers[one]
        )
        self._screen.say(
            "The bound is pinned chambers times depths less one (M. Blaze, IEEE Security & Privacy "
            "1(2), 2003); it is no measure of effort."
        )

    def _standards(self) -> None:
        graded = self._audit.standards
        self._screen.heading("Standards")
        keys = Counter(one.grade for one in graded.keys)
        by_grade = ", ".join(f"grade {grade}: {keys[grade]:,}" for grade in sorted(keys))
        self._screen.facts(
            [
                ("EN 1303, by codes and chambers", f"grade {graded.format_grade or 'none'}"),
                ("EN 1303, step rules of the keys", by_grade or "no keys"),
                ("selective masters", f"{len(graded.selective):,}"),
                ("cross-keyed doors", f"{len(graded.cross_keyed):,}"),
            ]
        )
        self._screen.say(
            "Readings of published advice, of cuts alone. A cylinder's certificate is its maker's."
        )

    def _compare(self, found: Comparison) -> None:
        self._screen.heading("Two designs of this chart")
        rows = [
            (row.measure.value, _figure(row.one), _figure(row.other), BETTER[row.better])
            for row in found.rows
        ]
        self._screen.table(("", "this", "other", "better"), rows, ("this", "other"))
        for name, claims in (("this", found.one_claims), ("other", found.other_claims)):
            if claims:
                self._screen.points(f"{name}: {_claim(claim)}" for claim in claims)

    def _verdict(self) -> None:
        audit = self._audit
        if self._job.proof.proved:
            text = f"\nAudited: a proved job, {audit.incidental:,} incidental combinations."
        else:
            text = f"\nAudited: NOT PROVED, {_many(len(audit.faults), 'fault')}."
        self._screen.verdict(text, good=self._job.proof.proved)


def _figure(number: int | None) -> str:
    return "-" if number is None else f"{number:,}"


def _claim(claim: Claim) -> str:
    return f"{claim.measure} {claim.value:,}, {CLAIMS[claim.kind].format(bound=claim.bound)}"


def _many(count: int, word: str) -> str:
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"
