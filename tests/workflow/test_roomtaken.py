"""Kept room when a job grows or a key is lost: taken first, left alone, told as it is."""

from dataclasses import replace
from pathlib import Path

from pinloom.core.bitting import Bitting
from pinloom.core.job import Job
from pinloom.core.room import KeptRoom
from pinloom.workflow import jobfile
from pinloom.workflow.grow import GrowOrder, grow_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.keptroom import still_kept
from pinloom.workflow.lost import LostOrder, Prices, lost_key
from pinloom.workflow.roomtaken import with_kept
from tests.workflow.kit import codes, write
from tests.workflow.roomkit import QUAY, holds, quay

GROWN = "\nNew store 1,BS5,,\nNew store 2,BS6,,\n"
GROWN_KEYS = "\nBS5,BS,1,\nBS6,BS,1,\n"


def grown(folder: Path, doors: str, keys: str, out: str, *recut: str) -> Job:
    """Alder Quay with more rows, grown from ``folder/quay``."""
    paths = write(folder, wanted=doors, wanted_keys=keys)
    result = grow_job(
        GrowOrder(
            folder=folder / "quay",
            chart=ChartSource(path=paths["wanted"], keys=paths["wanted_keys"]),
            out=folder / out,
            may_recut=recut,
        )
    )
    assert result.job is not None, codes(result.findings)
    assert result.job.proof.proved
    return result.job


def test_growth_takes_kept_room_first(tmp_path: Path) -> None:
    """New keys of the group get the next kept cuts in order; a key elsewhere leaves them alone; a
    key that opens common doors too gets a kept one that does; nothing new changes nothing.
    """
    job = quay(tmp_path, "BS=30")
    cuts = job.kept[0].cuts
    doors = (QUAY / "doors.csv").read_text(encoding="utf-8").rstrip("\n")
    keys = (QUAY / "keys.csv").read_text(encoding="utf-8").rstrip("\n")
    two = grown(tmp_path, doors + GROWN, keys + GROWN_KEYS, "two")
    assert [two.cuts()[name] for name in ("BS5", "BS6")] == list(cuts[:2])
    assert two.kept == (KeptRoom(under="BS", asked=28, cuts=cuts[2:]),)
    assert holds(two)
    cross = doors.replace("Loft 1,SL1", "Loft 1,SL1 rigger").replace(
        "Spar store,BS3", "Spar store,BS3 rigger"
    )
    other = grown(tmp_path, cross + "\n", keys + "\nrigger,,1,\n", "other")
    assert other.kept == job.kept
    assert holds(other)
    common = doors.replace("Tool crib,BS1", "Tool crib,BS1 BS5") + "\nNew store,BS5,,\n"
    assert common.count("BS5") == 2
    shared = grown(tmp_path, common, keys + "\nBS5,BS,1,\n", "shared")
    assert shared.cuts()["BS5"] in cuts
    assert shared.kept[0].asked == 29
    assert holds(shared)
    same = grown(tmp_path, doors + "\n", keys + "\n", "quay")
    assert same == job


def test_a_master_that_is_gone_keeps_nothing(tmp_path: Path) -> None:
    """Without the boat shed's master nothing can be kept under it, and that is told, not dropped.
    (Its cuts lie between those of its keys and the top master's, so keys are re-cut for it.)
    """
    job = quay(tmp_path, "BS=3", "SL=2")
    doors = (QUAY / "doors.csv").read_text(encoding="utf-8")
    keys = [
        line.replace(",BS,", ",TOP,")
        for line in (QUAY / "keys.csv").read_text(encoding="utf-8").splitlines()
        if not line.startswith("BS,")
    ]
    recut = ("BS1", "BS2", "BS3", "BS4")
    without = grown(tmp_path, doors, "\n".join(keys) + "\n", "without", *recut)
    shed, loft = without.kept
    assert shed == KeptRoom(under="BS", asked=3, cuts=())
    assert loft.asked == 2
    assert set(loft.cuts) <= set(job.kept[1].cuts)
    assert holds(without)


def test_a_lost_key_tells_what_is_still_kept(tmp_path: Path) -> None:
    """Plans for a lost key carry what of the kept room still holds, no more."""
    quay(tmp_path, "BS=4")
    for key in ("SL1", "BS"):
        result = lost_key(LostOrder(key=key, folder=tmp_path / "quay", prices=Prices()))
        assert result.plans
        for plan in result.plans:
            assert sum(one.asked for one in plan.job.kept) == 4
            assert holds(plan.job)
    assert any(len(plan.job.kept[0].cuts) < 4 for plan in result.plans)


def test_what_does_not_hold_is_let_go(tmp_path: Path) -> None:
    """Kept cuts that open a door, or that are no key's of the group, are not told as kept; cuts
    that a key of the chart has were taken.
    """
    job = quay(tmp_path, "BS=3")
    good = job.kept[0].cuts
    bad: Bitting = job.cuts()["SL1"]
    mixed = replace(job, kept=(KeptRoom(under="BS", asked=4, cuts=(good[0], bad, *good[1:])),))
    assert still_kept(mixed, mixed.kept)[0].cuts == good
    assert with_kept(mixed).kept == (KeptRoom(under="BS", asked=3, cuts=good),)


def test_nonsense_in_kept_room_is_no_job(tmp_path: Path) -> None:
    """A record with kept cuts beyond the format, or for a key that is not there, is refused."""
    job = quay(tmp_path, "BS=2")
    one = job.kept[0]
    for wrong in (
        replace(one, under="nobody"),
        replace(one, cuts=((0, 0, 0, 0, 0, 99),)),
        replace(one, cuts=((0, 0),)),
    ):
        assert not jobfile.is_consistent(replace(job, kept=(wrong,)))
    assert jobfile.is_consistent(job)
