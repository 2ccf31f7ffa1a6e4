"""From a chart to a proved job: the whole use case, its refusals, and the same bytes each time."""

import random
from pathlib import Path

import pytest

from pinloom.core.request import Designed
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.folder import load
from pinloom.workflow.inputs import ChartSource
from tests.workflow.kit import FORMAT, KEYNOTES_CHART, codes, pinned, write

DOORS = """\
door,keys,hardware,count
Loft 1,AA1,,
Loft 2,AA2,,2
Loft stair,AA1 AA2 cleaner,us-5x10-015,
Shed 1,AB1,,
Shed 2,AB2,,
"""
KEYS = (
    "key,under,copies\nTOP,,2\nAA,TOP,\nAB,TOP,\nAA1,AA,\nAA2,AA,3\nAB1,AB,\nAB2,AB,\ncleaner,,\n"
)


def _design(folder: Path, out: str = "job", **more: object) -> DesignResult:
    paths = write(folder, doors=DOORS, keys=KEYS)
    order = DesignOrder(
        chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
        hardware=FORMAT,
        out=folder / out,
        budget=200,
        name="Sheds",
    )
    for field, value in more.items():
        object.__setattr__(order, field, value)
    return design_job(order)


def test_a_chart_becomes_a_proved_job(tmp_path: Path) -> None:
    """The folder holds exactly the job of the result, proved, in two kinds of cylinder."""
    result = _design(tmp_path)
    assert result.job is not None
    assert result.job.proof.proved
    assert isinstance(result.outcome, Designed)
    assert [made.name for made in result.job.formats] == [FORMAT, "us-5x10-015"]
    assert load(tmp_path / "job").job == result.job


def test_shuffled_rows_give_the_same_bytes(tmp_path: Path) -> None:
    """Order of doors, keys and columns of the files changes no byte of any file of the job."""
    _design(tmp_path, "one")
    heads, *rows = DOORS.splitlines()
    keys, *key_rows = KEYS.splitlines()
    random.Random(1).shuffle(rows)
    random.Random(2).shuffle(key_rows)
    turned = [line.split(",")[::-1] for line in (heads, *rows)]
    paths = write(
        tmp_path,
        doors="\n".join(",".join(cells) for cells in turned) + "\n",
        keys="\n".join((keys, *key_rows)) + "\n",
    )
    order = DesignOrder(
        chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
        hardware=FORMAT,
        out=tmp_path / "two",
        budget=200,
        name="Sheds",
    )
    assert design_job(order).job is not None
    for name in ("bittings.csv", "pinning.csv", "job.json"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_given_cuts_are_kept(tmp_path: Path) -> None:
    """A top master cut beforehand stays as it is; free cuts are chosen."""
    keys = KEYS.replace("copies", "copies,cuts").replace("TOP,,2", "TOP,,2,5286??")
    paths = write(tmp_path, doors=DOORS, keys=keys)
    result = design_job(
        DesignOrder(
            chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
            hardware=FORMAT,
            out=tmp_path / "given",
            budget=200,
        )
    )
    assert result.job is not None
    top = result.job.bittings[result.job.chart.key_index()["TOP"]]
    assert top[:4] == (5, 2, 8, 6)


def test_another_system_is_kept_apart(tmp_path: Path) -> None:
    """With --avoid no key equals one of the other job or opens one of its doors; without it the
    same chart gives the same keys, so the check can fail.
    """
    first = _design(tmp_path, "one")
    second = _design(tmp_path, "two", avoid=(tmp_path / "one",))
    assert first.job is not None
    assert second.job is not None
    assert not set(first.job.bittings) & set(second.job.bittings)
    for levels in second.job.bittings:
        for door, cylinder in enumerate(first.job.pinning):
            least = first.job.format_of(door).least_step
            near = [
                min(abs(cut - line) for line in stack.cuts()) < least
                for cut, stack in zip(levels, cylinder.chambers, strict=False)
                if stack is not None
            ]
            assert not all(near), cylinder.door
    same = _design(tmp_path, "three")
    assert same.job is not None
    assert same.job.bittings == first.job.bittings


def test_a_table_of_cuts_can_be_avoided(tmp_path: Path) -> None:
    """The cuts that a first design chose are refused to a second one."""
    first = _design(tmp_path, "one")
    second = _design(tmp_path, "two", avoid=(tmp_path / "one/bittings.csv",))
    assert first.job is not None
    assert second.job is not None
    assert not set(first.job.bittings) & set(second.job.bittings)


def test_hardware_of_another_family_is_refused(tmp_path: Path) -> None:
    """A door with a cylinder that the keys cannot enter is named; so is a format file with a name
    that is taken, and unreadable given cuts.
    """
    own = (
        'based_on = "us-6x10-015"\nmacs = 6\n'
        '[[origins]]\nfields = ["macs"]\nprovenance = "measured"\nsource = "gauge"\n'
    )
    (tmp_path / "own.toml").write_text(own)
    doors = DOORS.replace("Shed 1,AB1,", "Shed 1,AB1,us-6x6-028").replace(
        "Shed 2,AB2,", "Shed 2,AB2,own.toml"
    )
    keys = KEYS.replace("copies", "copies,cuts").replace("AB1,AB,", "AB1,AB,,12345")
    paths = write(tmp_path, doors=doors, keys=keys)
    result = design_job(
        DesignOrder(
            chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
            hardware=FORMAT,
            out=tmp_path / "job",
        )
    )
    faults = [one for one in result.findings if one.severity.value == "fault"]
    assert sorted(codes(faults)) == [
        "job-foreign-hardware",
        "job-format-clash",
        "job-given-cuts",
    ]
    assert not (tmp_path / "job").exists()


def test_the_target_is_looked_at_before_the_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that cannot be written over is refused without a step of search."""
    (tmp_path / "job").mkdir()
    (tmp_path / "job/notes.txt").write_text("mine")

    def never(*_: object) -> None:
        raise AssertionError("searched")

    monkeypatch.setattr("pinloom.workflow.design.design", never)
    result = _design(tmp_path)
    assert "folder-not-ours" in codes(result.findings)


def test_a_failed_proof_is_written_and_marked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Should a design ever be wrong, the proof says so and the folder is marked."""
    wrong = pinned(tmp_path).job
    assert wrong is not None
    bad = (wrong.bittings[0],) * len(wrong.bittings)
    monkeypatch.setattr(
        "pinloom.workflow.design.design", lambda *_: Designed(bittings=bad, steps=1)
    )
    paths = write(tmp_path, chart=KEYNOTES_CHART)
    result = design_job(
        DesignOrder(chart=ChartSource(path=paths["chart"]), hardware=FORMAT, out=tmp_path / "wrong")
    )
    assert result.job is not None
    assert not result.job.proof.proved
    assert (tmp_path / "wrong/NOT-PROVED.txt").is_file()


def test_replacing_other_cuts_is_said(tmp_path: Path) -> None:
    """A design over another one warns and keeps the record; the same design again does not."""
    first = _design(tmp_path)
    again = _design(tmp_path)
    cuts = tmp_path / "cuts.csv"
    cuts.write_bytes((tmp_path / "job/bittings.csv").read_bytes())
    other = _design(tmp_path, avoid=(cuts,))
    assert first.job is not None
    assert other.job is not None
    assert "job-replaced" not in codes(again.findings)
    assert other.job.bittings != first.job.bittings
    assert "job-replaced" in codes(other.findings)
    assert other.job.revision == 2
