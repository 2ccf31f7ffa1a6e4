"""The cases of the engine's bench: charts by family, formats, and what is asked of each."""

from collections.abc import Sequence
from dataclasses import dataclass

TWO_STEP, ONE_STEP = "us-6x10-015", "us-6x6-023"
CORE_TWO_STEP, CORE_ONE_STEP = "ic-7x10-0125", "ic-7x7-018"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One row of the table: ``reach`` = seconds asked for, ``limit`` = seconds until it is ended.

    ``plain`` = processor seconds given to each plain way, for the first seed; 0 = not asked.
    ``long`` = the same in the long run of the plain ways alone, ``second`` = there for the
    constraint program. ``told`` = the chart in words.
    ``infer`` = only the structure is found, from the bare marks.
    """

    family: str
    chart: str
    told: str
    hardware: str = TWO_STEP
    seeds: int = 1
    reach: float
    limit: float = 60
    plain: int = 0
    long: int = 0
    second: int = 0
    schedule: bool = False
    infer: bool = False

    @property
    def form(self) -> str:
        """How the chart is given."""
        if self.infer:
            return "marks"
        return "schedule" if self.schedule else "matrix"


TREES = tuple(
    Case(
        family="trees",
        chart=chart,
        told="tree " + chart[1:].replace("x", " x "),
        hardware=hardware,
        reach=1,
        plain=plain,
        long=long,
        second=second,
    )
    for chart, hardware, plain, long, second in (
        ("T2x2x5", TWO_STEP, 30, 30, 30),
        ("T2x2x5", ONE_STEP, 30, 30, 30),
        ("T3x4x5", TWO_STEP, 30, 60, 60),
        ("T3x4x5", ONE_STEP, 30, 60, 60),
        ("T3x4x10", TWO_STEP, 40, 120, 120),
        ("T3x4x10", ONE_STEP, 40, 120, 0),
        ("T3x4x20", TWO_STEP, 60, 200, 120),
    )
)
LARGE_TREES = (
    Case(
        family="trees", chart="F1", told="tree 3 x 4 x 30", reach=1, plain=65, long=120, second=120
    ),
    Case(
        family="trees",
        chart="F1",
        told="tree 3 x 4 x 30",
        hardware=ONE_STEP,
        reach=1,
        plain=75,
        long=120,
    ),
    Case(family="trees", chart="T4x5x50", told="tree 4 x 5 x 50", reach=3, plain=60, long=60),
    Case(
        family="trees",
        chart="F5",
        told="tree 5 x 10 x 100",
        hardware=CORE_TWO_STEP,
        reach=3,
        limit=120,
        schedule=True,
    ),
    Case(
        family="trees",
        chart="T20",
        told="tree 8 x 10 x 250",
        hardware=CORE_ONE_STEP,
        reach=10,
        limit=120,
        schedule=True,
    ),
    Case(
        family="trees",
        chart="F7",
        told="10 x 20 x 100, shuffled: only its structure",
        reach=10,
        infer=True,
    ),
)
UNEVEN = tuple(
    Case(
        family="uneven trees",
        chart=chart,
        told=told,
        hardware=hardware,
        reach=5,
        plain=plain,
        long=long,
    )
    for chart, told, hardware, plain, long in (
        ("U1", "one group of 400, twenty of 5", TWO_STEP, 80, 80),
        ("U2", "wings of different depth", TWO_STEP, 125, 130),
        ("U2", "wings of different depth", ONE_STEP, 0, 0),
        ("U3", "three uneven wings", TWO_STEP, 100, 110),
        ("V1", "U1, masters missing, two owners, doors outside", TWO_STEP, 80, 80),
        ("V2", "U2, the same", TWO_STEP, 0, 100),
        ("V3", "U3, the same", TWO_STEP, 90, 100),
    )
)
SHARED = (
    Case(
        family="shared doors",
        chart="F2",
        told="F1, a shared door a group",
        reach=1,
        plain=50,
        long=100,
    ),
    Case(
        family="shared doors",
        chart="F2",
        told="F1, a shared door a group",
        hardware=ONE_STEP,
        reach=1,
    ),
)
CROSSED = (
    Case(
        family="scattered keys",
        chart="F3",
        told="F2, 20 scattered keys",
        seeds=3,
        reach=2,
        plain=115,
        long=150,
    ),
    Case(
        family="scattered keys",
        chart="F3",
        told="F2, 20 scattered keys",
        hardware=ONE_STEP,
        reach=2,
        long=300,
    ),
    Case(
        family="scattered keys",
        chart="F4",
        told="4 x 5 x 50, 40 scattered keys",
        seeds=3,
        reach=3,
        plain=100,
    ),
    Case(
        family="scattered keys",
        chart="F4",
        told="4 x 5 x 50, 40 scattered keys",
        hardware=CORE_ONE_STEP,
        seeds=2,
        reach=3,
    ),
    Case(
        family="a door of every group",
        chart="G5",
        told="F2, 5 keys over one door of every group",
        reach=3,
        long=110,
    ),
    Case(
        family="a door of every group",
        chart="G5",
        told="F2, 5 keys over one door of every group",
        hardware=ONE_STEP,
        reach=3,
    ),
    Case(
        family="neighbouring doors",
        chart="B40",
        told="F2, 40 keys over neighbouring doors",
        reach=3,
        long=110,
    ),
    Case(
        family="neighbouring doors",
        chart="B40",
        told="F2, 40 keys over neighbouring doors",
        hardware=ONE_STEP,
        reach=3,
    ),
    Case(
        family="neighbouring doors",
        chart="R3",
        told="4 x 5 x 40, 100 neighbouring, 5 service keys",
        seeds=2,
        reach=15,
        limit=90,
    ),
)
DENSE = (
    Case(
        family="dense",
        chart="D20",
        told="random 20 x 20 at .5",
        seeds=2,
        reach=1,
        plain=30,
        long=60,
        second=60,
    ),
    Case(
        family="dense",
        chart="D20",
        told="random 20 x 20 at .5",
        hardware=ONE_STEP,
        reach=1,
        plain=30,
        long=60,
        second=60,
    ),
    Case(
        family="dense",
        chart="D30",
        told="random 30 x 30 at .2",
        seeds=2,
        reach=1,
        plain=30,
        long=60,
        second=60,
    ),
    Case(
        family="dense",
        chart="D60",
        told="random 60 x 60 at .1",
        seeds=2,
        reach=5,
        plain=60,
        long=100,
        second=100,
    ),
    Case(
        family="dense",
        chart="D24",
        told="random 24 x 24 at .5",
        reach=60,
        limit=90,
        plain=30,
        long=60,
        second=60,
    ),
)
TOO_MANY = (
    Case(
        family="just too many",
        chart="N6145",
        told="6,145 change keys under one master, one too many",
        reach=1,
        schedule=True,
    ),
    Case(
        family="just too many",
        chart="N6600",
        told="6,600 change keys under one master",
        reach=1,
        schedule=True,
    ),
    Case(
        family="just too many",
        chart="C25",
        told="25 keys, each all doors but one: one too many",
        reach=1,
        plain=75,
        long=100,
        second=60,
    ),
    Case(
        family="just too many",
        chart="C31",
        told="31 keys, each all doors but one: one too many",
        hardware=ONE_STEP,
        reach=1,
        long=60,
    ),
    Case(family="the most", chart="C24", told="24 keys, each all doors but one", reach=1, plain=30),
)
OPEN = (
    Case(
        family="scattered keys",
        chart="F6",
        told="8 x 8 x 60, shared doors, 100 scattered keys",
        hardware=CORE_TWO_STEP,
        reach=120,
        limit=180,
    ),
)
CASES = (*TREES, *LARGE_TREES, *UNEVEN, *SHARED, *CROSSED, *DENSE, *TOO_MANY, *OPEN)
QUICK = (
    Case(family="trees", chart="T2x2x5", told="tree 2 x 2 x 5", reach=1, plain=10),
    Case(family="trees", chart="F1", told="tree 3 x 4 x 30", reach=1),
    Case(family="dense", chart="D20", told="random 20 x 20 at .5", reach=1, plain=20),
    Case(family="just too many", chart="C25", told="25 keys: one too many", reach=1, plain=2),
)


def chosen(cases: Sequence[Case], only: Sequence[str]) -> list[Case]:
    """The cases of the named charts, all where none is named; ends the program on a wrong name."""
    known = dict.fromkeys(case.chart for case in cases)
    unknown = [name for name in only if name not in known]
    if unknown:
        raise SystemExit(f"no such case: {', '.join(unknown)}; there are: {', '.join(known)}")
    return [case for case in cases if not only or case.chart in only]
