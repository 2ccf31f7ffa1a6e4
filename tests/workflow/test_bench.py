"""The bench's tables and construction keys of a job folder."""

import csv
from pathlib import Path

import pytest

from pinloom.core.lengths import from_inch, from_mm
from pinloom.workflow.bench import BenchOrder, BenchResult, bench
from pinloom.workflow.construction import (
    ConstructionMethod,
    ConstructionOrder,
    ConstructionResult,
    construction_key,
)
from pinloom.workflow.folder import load
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.kit import read_kit
from pinloom.workflow.pin import PinOrder, pin
from pinloom.workflow.summary import summarise
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, codes, job_of, pinned, write

BUILDING_CHART = "door,TOP,a,b,own\nNorth 1,x,x,,\nNorth 2,x,,x,\nStore,,,,x\n"
BUILDING_CUTS = "key,stamped\nTOP,345343\na,545343\nb,365343\nown,987654\n"


def _bench(folder: Path, **more: object) -> BenchResult:
    order = BenchOrder(folder=folder / "job", tray=3, out=folder / "tables")
    for field, value in more.items():
        object.__setattr__(order, field, value)
    return bench(order)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_tables_of_a_proved_job(tmp_path: Path) -> None:
    """Cutting data of every cut, every cylinder in a tray, parts that add up; owner's eyes only."""
    pinned(tmp_path)
    result = _bench(tmp_path)
    assert result.files == ("cutting.csv", "trays.csv", "tray-parts.csv", "parts.csv")
    folder = tmp_path / "tables"
    assert {path.stat().st_mode & 0o777 for path in folder.iterdir()} == {0o600}
    cuts = _rows(folder / "cutting.csv")
    assert len(cuts) == 4 * 6
    first = cuts[0]
    assert (first["key"], first["order"], first["from stop in"]) == ("cleaning", "1", "0.2310")
    assert abs(from_inch(first["root in"]) - from_mm(first["root mm"])) < 1_000
    trays = _rows(folder / "trays.csv")
    assert len(trays) == 8
    assert {row["tray"] for row in trays} == {"1", "2", "3"}
    whole = {(r["part"], r["size"]): int(r["count"]) for r in _rows(folder / "parts.csv")}
    by_tray: dict[tuple[str, str], int] = {}
    for row in _rows(folder / "tray-parts.csv"):
        place = (row["part"], row["size"])
        by_tray[place] = by_tray.get(place, 0) + int(row["count"])
    assert by_tray == whole
    assert result.handled <= result.unordered


def test_keys_that_are_not_in_use_are_not_cut(tmp_path: Path) -> None:
    """A retired and a reserved key stay in the proof, and out of the cutting data: whoever cuts by
    the list would bring a lost key back."""
    chart = "door,a,b\nNorth,x,\nSouth,,x\n"
    keys = "key,copies,reserved\na,2,\nb,3,\nlost,5,retired\nspare,7,yes\n"
    cuts = "key,stamped\na,345343\nb,545343\nlost,745343\nspare,945343\n"
    paths = write(tmp_path, chart=chart, keys=keys, cuts=cuts)
    order = PinOrder(
        chart=ChartSource(path=paths["chart"], keys=paths["keys"]),
        hardware=FORMAT,
        bittings=paths["cuts"],
        out=tmp_path / "job",
    )
    job = job_of(pin(order))
    assert job.proof.proved
    assert [one.key for one in _bench(tmp_path).cutting] == ["a", "b"]
    assert summarise(job).copies == 5


def test_the_parts_table_is_a_kit_that_lacks_nothing(tmp_path: Path) -> None:
    """What the bench writes as parts can be given back as a kit: exactly enough."""
    pinned(tmp_path)
    first = _bench(tmp_path)
    assert first.job is not None
    kit = tmp_path / "tables" / "parts.csv"
    read = read_kit(kit, first.job.key_format)
    assert [f for f in read.findings if f.code.startswith("kit")] == []
    again = _bench(tmp_path, kit=kit)
    assert again.short == ()
    assert "kit-kinds-absent" not in codes(again.findings)


def test_a_job_that_is_not_proved_gets_no_bench(tmp_path: Path) -> None:
    """The published fault: nothing is laid out or written, and no construction key is made."""
    pinned(tmp_path, KEYNOTES_BITTINGS)
    assert "bench-not-proved" in codes(_bench(tmp_path).findings)
    assert not (tmp_path / "tables").exists()
    refused = _construct(tmp_path)
    assert refused.job is None
    assert "bench-not-proved" in codes(refused.findings)


def _construct(folder: Path, **more: object) -> ConstructionResult:
    order = ConstructionOrder(
        folder=folder / "job", out=folder / "built", method=ConstructionMethod.RESERVED_CHAMBER
    )
    for field, value in more.items():
        object.__setattr__(order, field, value)
    return construction_key(order)


@pytest.mark.parametrize("method", list(ConstructionMethod))
def test_both_states_are_proved_jobs(tmp_path: Path, method: ConstructionMethod) -> None:
    """Before: the temporary key opens the doors of TOP. After: it exists and opens nothing."""
    pinned(tmp_path, BUILDING_CUTS, chart=BUILDING_CHART)
    result = _construct(tmp_path, under="TOP", method=method)
    assert result.before is not None
    assert result.after is not None
    before, after = (load(tmp_path / "built" / name).job for name in ("before", "after"))
    assert before is not None
    assert after is not None
    assert before.proof.proved
    assert after.proof.proved
    key = before.chart.key_index()["construction"]
    opened = [before.chart.doors[d].name for d in before.chart.doors_of()[key]]
    assert opened == ["North 1", "North 2"]
    assert after.chart.doors_of()[after.chart.key_index()["construction"]] == ()
    assert {one.door for one in result.changes} == {"North 1", "North 2"}


def test_orders_that_make_no_sense(tmp_path: Path) -> None:
    """Unknown doors and keys, a name that is taken, doors that share nothing."""
    pinned(tmp_path, BUILDING_CUTS, chart=BUILDING_CHART)
    assert codes(_construct(tmp_path, key="a").findings)[-1] == "construction-key-known"
    assert codes(_construct(tmp_path, under="z").findings)[-1] == "construction-key-unknown"
    assert codes(_construct(tmp_path, doors=("z",)).findings)[-1] == "construction-door-unknown"
    apart = _construct(tmp_path)
    assert apart.impossible
    assert codes(apart.findings)[-1] == "pinning-construction-no-cut"
    assert not (tmp_path / "built").exists()


def test_tables_that_cannot_be_written(tmp_path: Path) -> None:
    """A file in the place of the folder is a finding."""
    pinned(tmp_path)
    result = _bench(tmp_path, out=write(tmp_path, taken="x")["taken"])
    assert "bench-unwritable" in codes(result.findings)
