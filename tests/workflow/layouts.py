"""Charts with key trees, designed small, and an independent reading of what a layout says."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pinloom.chart import write_matrix
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import Job, Layout, LayoutGroup
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource

FORMAT = "us-6x10-015"


@dataclass(slots=True)
class Marks:
    """A chart under construction: door -> its keys; ``groups`` = doors by group."""

    opens: dict[str, set[str]] = field(default_factory=dict)
    groups: dict[str, list[str]] = field(default_factory=dict)

    def grow(
        self, sizes: Sequence[object], path: str = "", above: tuple[str, ...] = ("TOP",)
    ) -> None:
        """A tree: a number is a group of so many doors, a sequence a master over groups."""
        for i, part in enumerate(sizes):
            name = f"{path}{'ABCDEFGH'[i]}"
            masters = (*above, name)
            if isinstance(part, Sequence):
                self.grow(part, name, masters)
                continue
            assert isinstance(part, int)
            self.groups[name] = [f"Room {name}{n}" for n in range(1, part + 1)]
            for n, door in enumerate(self.groups[name], start=1):
                self.opens[door] = {f"{name}{n}", *masters}

    def share(self) -> None:
        """A door in each group that all its keys open."""
        for name, doors in self.groups.items():
            self.opens[f"Hall {name}"] = set().union(*(self.opens[door] for door in doors))

    def scatter(self, count: int, seed: int) -> None:
        """Keys over two to four rooms anywhere."""
        rng = random.Random(f"scatter {seed}")
        doors = sorted(self.opens)
        for number in range(1, count + 1):
            for door in rng.sample(doors, rng.randint(2, 4)):
                self.opens[door].add(f"X{number}")

    def chart(self) -> AccessChart:
        """The chart; its keys say nothing of who is under whom."""
        keys = sorted(set().union(*self.opens.values()))
        return AccessChart.build(
            [Door(name=door) for door in self.opens], [Key(name=key) for key in keys], self.opens
        )


def shape(name: str, seed: int = 0) -> AccessChart:
    """plain = 3 x 3 x 8; shared = with halls; crossed = with cross keys too; uneven = wings of
    different depth, single doors under the top master, halls and cross keys.
    """
    marks = Marks()
    marks.grow([[10, 6, 3], [12, 4], 9] if name == "uneven" else [[8] * 3] * 3)
    if name == "uneven":
        marks.opens |= {f"Store {n}": {f"S{n}", "TOP"} for n in range(1, 6)}
    if name != "plain":
        marks.share()
    if name in ("crossed", "uneven"):
        marks.scatter(6, seed)
    return marks.chart()


def designed(folder: Path, chart: AccessChart, *, seed: int = 0) -> Job:
    """The chart's design, written to ``folder/job``."""
    folder.mkdir(parents=True, exist_ok=True)
    write_matrix(chart, folder / "chart.csv")
    order = DesignOrder(
        chart=ChartSource(path=folder / "chart.csv"),
        hardware=FORMAT,
        out=folder / "job",
        seed=seed,
        budget=2_000,
    )
    job = design_job(order).job
    assert job is not None
    assert job.proof.proved
    return job


def told(job: Job) -> Layout:
    """The job's layout."""
    assert job.layout is not None
    return job.layout


def members(job: Job) -> Mapping[str, list[str]]:
    """Master -> change keys whose narrowest master it is, from the marks and the masters told."""
    layout = told(job)
    doors = {
        key.name: {door for door, row in job.chart.opens().items() if key.name in row}
        for key in job.chart.keys
    }
    masters = [group.master for group in layout.groups if group.master]
    found: dict[str, list[str]] = {master: [] for master in masters}
    for key, mine in doors.items():
        if key in masters or key in layout.crossing or not mine:
            continue
        over = [master for master in masters if mine <= doors[master]]
        if over:
            found[min(over, key=lambda master: len(doors[master]))].append(key)
    return found


def all_below(job: Job, master: str, inside: Mapping[str, list[str]]) -> list[str]:
    """Every key and master under a master, at any depth; ``inside`` = ``members``."""
    below = [one.master for one in told(job).groups if one.above == master and one.master]
    deeper = [key for one in below for key in all_below(job, one, inside)]
    return [*inside[master], *below, *deeper]


def follows(cuts: Bitting, group: LayoutGroup) -> bool:
    """Whether a key carries, chamber by chamber, what a group's keys carry."""
    return all(cut in group.carried[chamber] for chamber, cut in enumerate(cuts))
