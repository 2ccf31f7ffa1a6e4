"""Room asked for before a design: met or refused as brute force says, kept, and proved."""

import json
import stat
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from pinloom.core.request import GaveUp, ProvedImpossible
from pinloom.core.room import KeptRoom
from pinloom.growth.continued import first_that_fit
from pinloom.workflow.folder import load
from pinloom.workflow.keptroom import still_kept
from pinloom.workflow.room import room_left
from tests.oracle.brute import Tiny, TinyLock, solve
from tests.workflow.kit import codes
from tests.workflow.roomkit import designed, holds, job_of, quay, tiny_format

ONE = "door,T,A,B\nLoft 1,x,x,\nLoft 2,x,,x\n"
TWO = "door,T,M,N,A,B,C\nLoft 1,x,x,,x,,\nLoft 2,x,x,,,x,\nShed,x,,x,,,x\n"
TWO_KEYS = "key,under,room\nT,,\nM,T,\nN,T,\nA,M,\nB,M,\nC,N,\n"


def brute(chambers: int, depths: int, least_step: int, rows: Sequence[tuple[str, ...]]) -> bool:
    """Whether brute force finds cuts for doors given by the names of their keys."""
    names = sorted({name for row in rows for name in row})
    task = Tiny(
        positions=chambers,
        levels=depths,
        macs=depths - 1,
        least_step=least_step,
        pins=frozenset(range(least_step, depths)),
        most_masters=2,
        keys=len(names),
        locks=tuple(
            TinyLock(openers=tuple(names.index(n) for n in row), active=tuple(range(chambers)))
            for row in rows
        ),
    )
    return solve(task, limit=20_000_000) is not None


@pytest.mark.parametrize(
    ("chambers", "depths", "least_step", "most"),
    [(2, 3, 1, 1), (3, 2, 1, 0), (2, 4, 2, 0)],
)
def test_one_master_as_brute_force_says(
    tmp_path: Path, chambers: int, depths: int, least_step: int, most: int
) -> None:
    """Two change keys under a master: room for each number is met or proved impossible exactly as
    brute force finds with so many more keys and doors, and the refusal tells the most that fits.
    """
    hardware = str(tiny_format(tmp_path, chambers, depths, least_step))
    for number in range(1, most + 3):
        result = designed(
            tmp_path, ONE, hardware, room=(f"T={number}",), out=f"job{number}", budget=500
        )
        doors = [("A", "T"), ("B", "T"), *((f"V{i}", "T") for i in range(number))]
        assert brute(chambers, depths, least_step, doors) == (number <= most)
        if number <= most:
            job = job_of(result)
            (kept,) = job.kept
            assert (kept.under, kept.asked, len(kept.cuts)) == ("T", number, number)
            assert holds(job)
        else:
            assert isinstance(result.outcome, ProvedImpossible)
            assert result.room is not None
            assert result.room.refused
            assert result.room.fits == {"T": most}
            assert result.job is None
            assert not (tmp_path / f"job{number}").exists()


def test_two_masters_as_brute_force_says(tmp_path: Path) -> None:
    """Wishes for a group and for the top master at once, on a lock of two chambers."""
    hardware = str(tiny_format(tmp_path, 2, 3))
    met = set()
    for m, n in product(range(3), range(3)):
        result = designed(
            tmp_path,
            "door,T,M,A,B\nLoft,x,x,x,\nShed,x,,,x\n",
            hardware,
            keys="key,under\nT,\nM,T\nA,M\nB,T\n",
            room=(f"M={m}", f"T={n}"),
            out=f"job{m}{n}",
            budget=500,
        )
        doors: list[tuple[str, ...]] = [("A", "M", "T"), ("B", "T")]
        doors += [(f"V{i}", "M", "T") for i in range(m)] + [(f"W{i}", "T") for i in range(n)]
        if brute(2, 3, 1, doors):
            job = job_of(result)
            asked = {name: number for name, number in (("M", m), ("T", n)) if number}
            assert {one.under: len(one.cuts) for one in job.kept} == asked
            assert holds(job)
            met.add((m, n))
        else:
            assert isinstance(result.outcome, ProvedImpossible)
            assert result.room is not None
            assert result.room.refused
    assert met == {(0, 0), (0, 1), (1, 0)}


def test_wishes_of_chart_and_command_line(tmp_path: Path) -> None:
    """A column and an option mean the same; a wish for one master goes before one for all; zero
    takes the usual wish away.
    """
    keys = TWO_KEYS.replace("M,T,", "M,T,3")
    by_column = job_of(designed(tmp_path, TWO, "us-5x6-023", keys=keys, out="a"))
    by_option = job_of(designed(tmp_path, TWO, "us-5x6-023", keys=TWO_KEYS, room=("M=3",), out="b"))
    assert by_column.kept == by_option.kept
    assert by_column.bittings == by_option.bittings
    both = designed(tmp_path, TWO, "us-5x6-023", keys=keys, room=("50%",), out="c")
    assert [(o.under, len(o.cuts)) for o in job_of(both).kept] == [("M", 3), ("N", 1)]
    none = designed(tmp_path, TWO, "us-5x6-023", keys=TWO_KEYS, room=("0",), out="d")
    assert job_of(none).kept == ()
    assert none.room is not None
    assert none.room.lines == ()


def test_bad_wishes_come_all_at_once(tmp_path: Path) -> None:
    """Unknown keys, keys that are no masters, nonsense and contradictions, in one go."""
    keys = TWO_KEYS.replace("M,T,", "M,T,3")
    wishes = ("X=3", "A=3", "M=-1", "many", "M=4", "N=2", "N=3", "10", "20%", "N=3")
    result = designed(tmp_path, TWO, "us-5x6-023", keys=keys, room=wishes)
    assert result.outcome is None
    assert [c for c in codes(result.findings) if c.startswith("room-")] == [
        "room-unknown",
        "room-no-master",
        "room-unreadable",
        "room-unreadable",
        "room-twice",
        "room-twice",
        "room-twice",
    ]


def test_the_usual_wish_changes_no_byte(tmp_path: Path) -> None:
    """Without a wish the job is the same, byte by byte, as with none, where the first design leaves
    the usual room; only groups are told.
    """
    usual = designed(tmp_path, TWO, "us-6x10-015", keys=TWO_KEYS, out="usual")
    none = designed(tmp_path, TWO, "us-6x10-015", keys=TWO_KEYS, out="none", room=("0",))
    job_of(none)
    data = (tmp_path / "usual/job.json").read_bytes()
    assert data == (tmp_path / "none/job.json").read_bytes()
    record = json.loads(data)["job"]
    assert "kept" not in record
    assert "room" not in record["chart"]["keys"][0]
    assert usual.room is not None
    lines = [(x.under, x.keys, x.wish, x.wanted, x.found, x.usual) for x in usual.room.lines]
    assert lines == [("M", 2, "30%", 1, 1, True), ("N", 1, "30%", 1, 1, True)]


def test_no_design_without_room_either(tmp_path: Path) -> None:
    """Where the chart alone is impossible, that is the answer, and room is not to blame."""
    hardware = str(tiny_format(tmp_path, 2, 2))
    chart = "door,T,A,B,C\nLoft 1,x,x,,\nLoft 2,x,,x,\nLoft 3,x,,,x\n"
    result = designed(tmp_path, chart, hardware, room=("T=1",), budget=500)
    assert isinstance(result.outcome, ProvedImpossible)
    assert not any("further" in key for key in result.outcome.keys)
    assert result.room is not None
    assert result.room.moot
    assert not result.room.refused


def test_giving_up_tells_what_fits(tmp_path: Path) -> None:
    """A wish that is neither met nor excluded within the budget: gave up, with what does fit."""
    hardware = str(tiny_format(tmp_path, 4, 4))
    doors = "door,keys\nLoft,A\nShed,B\nQuay,C\n"
    keys = "key,under\nT,\nM,T\nN,T\nO,T\nA,M\nB,N\nC,O\n"
    wish = ("M=30", "N=30", "O=30")
    result = designed(tmp_path, doors, hardware, keys=keys, room=wish, budget=40)
    assert isinstance(result.outcome, GaveUp)
    assert result.room is not None
    assert result.room.fits is not None
    fits = result.room.fits
    assert 0 < fits["M"] == fits["N"] == fits["O"] < 30
    assert [one.change for one in result.outcome.remedies] == ["remedy-less-room"]
    less = tuple(f"{name}={number}" for name, number in fits.items())
    met = designed(tmp_path, doors, hardware, keys=keys, room=less, out="met", budget=40)
    assert all(len(one.cuts) == fits[one.under] for one in job_of(met).kept)


def test_thirty_for_a_group_of_alder_quay(tmp_path: Path) -> None:
    """30 more for the boat shed: kept, all together right, readable by the owner alone, and the
    same bytes for a shuffled chart.
    """
    job = quay(tmp_path, "BS=30")
    (kept,) = job.kept
    assert (kept.under, kept.asked, len(set(kept.cuts))) == ("BS", 30, 30)
    assert holds(job)
    assert not set(kept.cuts) & set(job.bittings)
    record = tmp_path / "quay/job.json"
    assert stat.S_IMODE(record.stat().st_mode) == 0o600
    assert load(tmp_path / "quay").job == job
    quay(tmp_path, "BS=30", order=7)
    assert (tmp_path / "quay7/job.json").read_bytes() == record.read_bytes()
    left = room_left(tmp_path / "quay", ("BS", "SL"), show=40)
    shed, loft = left.rooms
    assert (shed.asked, shed.kept, shed.following[:30]) == (30, 30, kept.cuts)
    assert shed.least >= 30
    assert (loft.asked, loft.kept) == (0, 0)


def test_thirty_for_a_group_of_a_tree(tmp_path: Path) -> None:
    """30 more for one group of 3 x 4 x 30 doors on us-6x10-015, all right together."""
    doors, keys = ["door,keys"], ["key,under", "TOP,"]
    for area, group in product("ABC", range(1, 5)):
        if group == 1:
            keys.append(f"{area},TOP")
        keys.append(f"{area}{group},{area}")
        for number in range(1, 31):
            keys.append(f"{area}{group}-{number},{area}{group}")
            doors.append(f"door {area}{group}-{number},{area}{group}-{number}")
    chart, table = "\n".join(doors) + "\n", "\n".join(keys) + "\n"
    job = job_of(designed(tmp_path, chart, "us-6x10-015", keys=table, room=("B2=30",)))
    assert [(one.under, len(one.cuts)) for one in job.kept] == [("B2", 30)]
    assert holds(job)


def test_room_in_interchangeable_cores(tmp_path: Path) -> None:
    """In small-format cores kept keys and those of the usual wish stay off the control line too:
    the program's own proof with every control line says so.
    """
    result = designed(tmp_path, TWO, "ic-6x10-0125", keys=TWO_KEYS, room=("M=12",))
    job = job_of(result)
    assert len(job.controls) == 1
    assert [(one.under, len(one.cuts)) for one in job.kept] == [("M", 12)]
    assert still_kept(job, job.kept) == job.kept
    assert result.room is not None
    assert [(line.under, line.found) for line in result.room.lines] == [("M", 12), ("N", 1)]
    bare = replace(job, kept=())
    for name, cuts in first_that_fit(bare, {"M": 40, "N": 40}).items():
        quick = (KeptRoom(under=name, asked=40, cuts=cuts),)
        assert len(cuts) == 40
        assert still_kept(bare, quick) == quick
    control = (KeptRoom(under="N", asked=1, cuts=(job.controls[0].levels,)),)
    assert still_kept(bare, control)[0].cuts == ()


def test_of_equal_designs_one_leaves_the_usual_room(tmp_path: Path) -> None:
    """Two groups of which the first design leaves no room, while another with as many master pins
    does: that one is taken, with the same claim, unless --room 0 wants no usual room.
    """
    hardware = str(tiny_format(tmp_path, 3, 3))
    doors = "door,keys\nd0,A0\nd1,B0\nd2,B1\nd3,B2\n"
    keys = "key,under\nTOP,\nAA,TOP\nA0,AA\nAB,TOP\nB0,AB\nB1,AB\nB2,AB\n"
    usual = designed(tmp_path, doors, hardware, keys=keys, out="usual", budget=300)
    bare = designed(tmp_path, doors, hardware, keys=keys, out="bare", budget=300, room=("0",))
    assert job_of(usual).claims == job_of(bare).claims
    assert job_of(usual).bittings != job_of(bare).bittings
    wanted = {"AA": 1, "AB": 1}
    assert set(first_that_fit(job_of(bare), wanted).values()) == {()}
    assert all(first_that_fit(job_of(usual), wanted).values())
    pins = [sum(one.master_pins() for one in job_of(x).pinning) for x in (usual, bare)]
    assert pins[0] == pins[1]
