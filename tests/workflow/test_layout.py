"""The layout that is told: there for every tree, true of the cuts, and good to extend by."""

import csv
import json
import random
from dataclasses import replace
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from pinloom.chart import write_matrix
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import FaultKind, Job, Layout, LayoutGroup, ProofFault
from pinloom.core.room import KeptRoom
from pinloom.design.carried import carried
from pinloom.hardware import load_format
from pinloom.workflow.avoid import Avoided
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.jobfile import decode, encode, is_untouched
from pinloom.workflow.layout import layout_of, with_layout
from pinloom.workflow.pin import PinOrder, PinResult, pin
from tests.workflow.layouts import FORMAT, all_below, designed, follows, members, shape, told

SHAPES = ("plain", "shared", "crossed", "uneven")
SEEDS = (0, 1)


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, int], Job]:
    """Every shape under every seed."""
    folder = tmp_path_factory.mktemp("layouts")
    return {
        (name, seed): designed(folder / f"{name}{seed}", shape(name, seed), seed=seed)
        for name in SHAPES
        for seed in SEEDS
    }


@pytest.fixture(scope="module")
def quay(tmp_path_factory: pytest.TempPathFactory) -> list[Job]:
    """The example chart under some seeds."""
    found = []
    for seed in SEEDS:
        with as_file(files("pinloom.workflow") / "alder_quay") as chart:
            order = DesignOrder(
                chart=ChartSource(path=chart / "doors.csv", keys=chart / "keys.csv"),
                hardware="us-6x10-014a",
                out=tmp_path_factory.mktemp("quay") / "job",
                seed=seed,
                budget=100,
            )
            job = design_job(order).job
        assert job is not None
        found.append(job)
    return found


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", SHAPES)
def test_told_for_every_tree(jobs: dict[tuple[str, int], Job], name: str, seed: int) -> None:
    """Every master of the tree is told; nearly every group of change keys shows a layout, and those
    that do not are few keys. Plain trees have no exceptions.
    """
    layout = told(jobs[name, seed])
    masters = {group.master for group in layout.groups if group.master}
    assert {"TOP", "A", "B", "AA", "AB", "BA", "BB"} <= masters
    groups = [group for group in layout.groups if not group.parts]
    assert sum(bool(group.carried) for group in groups) * 4 >= len(groups) * 3
    if name in ("plain", "shared"):
        assert layout.exceptions() == ()
        assert all(group.carried for group in layout.groups)
    else:
        # Six cross keys were added, and hardly any other key had to leave its place.
        assert len(layout.exceptions()) <= 10


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", SHAPES)
def test_told_is_true(jobs: dict[tuple[str, int], Job], name: str, seed: int) -> None:
    """Every key under a master carries what is told there, unless it is named as an exception."""
    assert _untrue(jobs[name, seed]) == []


def test_told_is_true_of_the_example(quay: list[Job]) -> None:
    """Alder Quay has its four foremen's groups told under every seed, and what is told is true."""
    for job in quay:
        layout = told(job)
        masters = [group.master for group in layout.groups]
        assert masters == ["TOP", "BS", "OF", "SL", "SW"]
        assert any(group.carried for group in layout.groups if not group.parts)
        assert {"cleaner", "warden", "SKD1"} <= set(layout.crossing)
        assert _untrue(job) == []


def test_marks_alone_tell_the_same(quay: list[Job]) -> None:
    """Without its table of keys the example's masters and groups are found in the marks."""
    for job in quay:
        keys = tuple(replace(key, under="") for key in job.chart.keys)
        assert layout_of(replace(job, chart=replace(job.chart, keys=keys))) == job.layout


def test_a_job_that_is_not_proved_has_no_layout(quay: list[Job]) -> None:
    """Nobody should extend a faulty system."""
    job = quay[0]
    fault = ProofFault(kind=FaultKind.OPENS, key="OF1", door="Archive")
    assert with_layout(job).layout == job.layout
    faulty = replace(job, proof=replace(job.proof, faults=(fault,)))
    assert with_layout(faulty).layout is None


def _untrue(job: Job) -> list[str]:
    """What a layout says wrongly, read against cuts and marks alone."""
    layout, cuts, inside = told(job), job.cuts(), members(job)
    aside = set(layout.exceptions())
    wrong = []
    for group in layout.groups:
        if group.master and not group.parts:
            mine = inside[group.master]
            wrong += [f"{group.master}: counted"] * (len(mine) != group.keys)
            wrong += _unlike(group, {key: cuts[key] for key in mine if key not in aside})
        elif group.master and group.carried:
            below = [key for key in all_below(job, group.master, inside) if key not in aside]
            wrong += [
                f"{key} under {group.master}" for key in below if not follows(cuts[key], group)
            ]
        if group.master and group.above:
            same = zip(cuts[group.master], cuts[group.above], strict=True)
            kept = tuple(p for p, (mine, theirs) in enumerate(same) if mine == theirs)
            wrong += [f"{group.master}: kept"] * (kept != group.kept)
    return wrong


def _unlike(group: LayoutGroup, cuts: dict[str, Bitting]) -> list[str]:
    """Keys that do not follow, and depths that are told but that nobody has."""
    if not group.carried:
        return []
    wrong = [f"{key} in {group.master}" for key, cut in cuts.items() if not follows(cut, group)]
    used = [{cut[p] for cut in cuts.values()} for p in range(len(group.carried))]
    if [set(levels) for levels in group.carried] != used:
        wrong.append(f"{group.master}: depths")
    return wrong


@pytest.mark.parametrize("name", SHAPES)
def test_hand_made_extension(jobs: dict[tuple[str, int], Job], tmp_path: Path, name: str) -> None:
    """The next three combinations of a group, each with a door of its own under the same masters:
    pinned by hand the system is proved, and every other cylinder has the pins it had.
    """
    job = jobs[name, 0]
    group = next(one for one in told(job).groups if len(one.unused) == 3)
    result = _by_hand(job, tmp_path, _additions(job, group.unused, group))
    assert result.job is not None
    assert result.job.proof.proved
    assert _repinned(job, result.job) == []


def test_all_that_is_told_fits_together(jobs: dict[tuple[str, int], Job], tmp_path: Path) -> None:
    """Every combination told, of every group, in one extension."""
    job = jobs["uneven", 1]
    added = [
        addition for group in told(job).groups for addition in _additions(job, group.unused, group)
    ]
    assert len(added) > 12
    result = _by_hand(job, tmp_path, added)
    assert result.job is not None
    assert result.job.proof.proved
    assert _repinned(job, result.job) == []


def test_kept_and_avoided_combinations_are_not_told(jobs: dict[tuple[str, int], Job]) -> None:
    """What the job keeps for a group counts as used, and other systems to avoid are avoided: the
    next ones are told instead.
    """
    job = jobs["plain", 1]
    group = next(one for one in told(job).groups if len(one.unused) == 3)
    kept = KeptRoom(under=group.master, asked=1, cuts=group.unused[:1])
    layout = layout_of(replace(job, kept=(kept,)), Avoided(bittings=group.unused[1:2]))
    assert layout is not None
    after = next(one for one in layout.groups if one.master == group.master)
    assert len(after.unused) == 3
    assert after.unused[0] == group.unused[2]
    assert not {*group.unused[:2]} & {*after.unused}


def test_a_cut_of_another_group_is_caught(jobs: dict[tuple[str, int], Job], tmp_path: Path) -> None:
    """A new key of one group with cuts that belong to another, its own depth in one chamber given
    back to the master: no key has them, and still it opens a door there, which the proof says.
    """
    job = jobs["plain", 0]
    groups = {group.master: group for group in told(job).groups}
    here, there = groups["AA"], groups["BB"]
    master, key = job.cuts()["BB"], job.cuts()["BB1"]
    differs = [p for p in range(len(key)) if key[p] != master[p]]
    stray = tuple(master[p] if p == differs[0] else cut for p, cut in enumerate(key))
    assert stray not in job.bittings
    assert not follows(stray, here)
    assert all(stray[p] in depths for p, depths in enumerate(there.carried) if len(depths) == 1)
    result = _by_hand(job, tmp_path, _additions(job, (stray,), here))
    assert result.job is not None
    assert (FaultKind.OPENS, "new AA 1", "Room BB1") in {
        (one.kind, one.key, one.door) for one in result.job.proof.faults
    }


Addition = tuple[str, tuple[str, ...], Bitting]  # name of door and key, masters, cuts


def _additions(job: Job, cuts: tuple[Bitting, ...], group: LayoutGroup) -> list[Addition]:
    above = {one.master: one.above for one in told(job).groups if one.master}
    masters = [group.master or group.above]
    while above[masters[-1]]:
        masters.append(above[masters[-1]])
    return [
        (f"new {masters[0]} {number}", tuple(masters), cut)
        for number, cut in enumerate(cuts, start=1)
    ]


def _by_hand(job: Job, folder: Path, added: list[Addition]) -> PinResult:
    """The chart with further doors and keys, the bittings as they are with new rows, pinned."""
    chart = AccessChart.build(
        [*job.chart.doors, *(Door(name=name) for name, _, _ in added)],
        [*job.chart.keys, *(Key(name=name) for name, _, _ in added)],
        {**job.chart.opens(), **{name: (name, *masters) for name, masters, _ in added}},
    )
    write_matrix(chart, folder / "chart.csv")
    with (folder / "cuts.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(("key", "stamped"))
        for name, cut in (*job.cuts().items(), *((name, cut) for name, _, cut in added)):
            table.writerow((name, job.key_format.stamp(cut)))
    return pin(
        PinOrder(
            chart=ChartSource(path=folder / "chart.csv"),
            hardware=FORMAT,
            bittings=folder / "cuts.csv",
            out=folder / "out",
        )
    )


def _repinned(before: Job, after: Job) -> list[str]:
    pins = {cylinder.door: cylinder for cylinder in after.pinning}
    return [old.door for old in before.pinning if pins[old.door] != old]


def test_shuffled_charts_give_the_same_bytes(tmp_path: Path) -> None:
    """Rows and columns of the file in another order: the same files, layout included."""
    chart = shape("uneven")
    designed(tmp_path / "one", chart)
    (tmp_path / "two").mkdir()
    write_matrix(chart, tmp_path / "two" / "plain.csv")
    with (tmp_path / "two" / "plain.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = list(csv.reader(file))
    rng = random.Random("shuffled")
    columns = list(range(1, len(head)))
    rng.shuffle(columns)
    rng.shuffle(rows)
    with (tmp_path / "two" / "chart.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([row[0], *(row[c] for c in columns)] for row in (head, *rows))
    order = DesignOrder(
        chart=ChartSource(path=tmp_path / "two" / "chart.csv"),
        hardware=FORMAT,
        out=tmp_path / "two" / "job",
        budget=2_000,
    )
    assert design_job(order).job is not None
    one, two = ((tmp_path / name / "job") for name in ("one", "two"))
    names = sorted(path.name for path in one.iterdir())
    assert "job.json" in names
    assert names == sorted(path.name for path in two.iterdir())
    assert all((one / name).read_bytes() == (two / name).read_bytes() for name in names)


def test_files_from_before_stay_readable(quay: list[Job]) -> None:
    """A layout without groups is written as it always was, and read again as untouched."""
    layout = told(quay[0])
    old = replace(quay[0], layout=Layout(master=layout.master, levels=layout.levels))
    data = encode(old)
    assert sorted(json.loads(data)["job"]["layout"]) == ["levels", "master", "note"]
    record = decode(data)
    assert record is not None
    assert record.job == old
    assert is_untouched(record, data)


def test_no_layout_where_most_keys_are_exceptions() -> None:
    """Marks at random hold masters by chance; what hardly any key follows is not told."""
    rng = random.Random("dense")
    names = [f"k{n}" for n in range(30)]
    opens = {f"d{n}": rng.sample(names, 6) for n in range(30)}
    chart = AccessChart.build(
        [Door(name=name) for name in opens], [Key(name=name) for name in names], opens
    )
    made = load_format(FORMAT).format
    assert made is not None
    cuts = [tuple(rng.randrange(10) for _ in range(6)) for _ in names]
    assert carried(chart, made, cuts) is None


def test_without_a_tree_nothing_is_told(jobs: dict[tuple[str, int], Job]) -> None:
    """A chart in which no key is master over another has no layout."""
    job = jobs["plain", 0]
    alone = {door.name: (f"A{door.name}",) for door in job.chart.doors}
    chart = AccessChart.build(job.chart.doors, [Key(name=key) for (key,) in alone.values()], alone)
    cuts = job.bittings[: len(chart.keys)]
    assert layout_of(replace(job, chart=chart, bittings=cuts)) is None
