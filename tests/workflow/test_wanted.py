"""The wanted chart on disk: nothing lost, nothing overwritten unseen."""

import json
import stat
from pathlib import Path

import pytest

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.workflow.edits import Edit, read_edits
from pinloom.workflow.wanted import FILE, Wanted, print_of

CHART = AccessChart.build(
    [Door(name="Loft 1"), Door(name="Loft 2")],
    [Key(name="A"), Key(name="B")],
    {"Loft 1": ["A"], "Loft 2": ["B"]},
)


def _mark(door: str, key: str, *, on: bool = True) -> tuple[Edit, ...]:
    read = read_edits(json.dumps([{"do": "mark", "door": door, "key": key, "on": on}]))
    assert read is not None
    return read


def test_a_write_is_on_disk_and_read_by_the_next(tmp_path: Path) -> None:
    """What one page wrote, another finds; before any edit it is the job's own chart; only the owner
    reads the file.
    """
    one = Wanted(tmp_path, CHART)
    before = one.now(CHART)
    assert before.chart == CHART
    assert not (tmp_path / FILE).exists()
    after = one.write(before.seen, _mark("Loft 1", "B"))
    assert after.findings == ()
    assert after.chart.openers == ((0, 1), (1,))
    assert after.seen == print_of(after.chart) != before.seen
    assert Wanted(tmp_path, CHART).now(CHART).chart == after.chart
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600


def test_a_write_on_an_older_chart_is_refused(tmp_path: Path) -> None:
    """Two windows, two programs: the second to write learns that the chart is another, and its
    own change is not made over what it never saw.
    """
    one, other = Wanted(tmp_path, CHART), Wanted(tmp_path, CHART)
    seen = one.now(CHART).seen
    assert other.now(CHART).seen == seen
    first = one.write(seen, _mark("Loft 1", "B"))
    late = other.write(seen, _mark("Loft 2", "A"))
    assert [found.code for found in late.findings] == ["edit-stale"]
    assert late.chart == first.chart
    again = other.write(late.seen, _mark("Loft 2", "A"))
    assert again.findings == ()
    assert again.chart.openers == ((0, 1), (0, 1))
    assert one.step(first.seen, back=True).findings[0].code == "edit-stale"


def test_back_and_forth(tmp_path: Path) -> None:
    """Every step back gives exactly the chart before, every step forth the one after; a new edit
    ends the way forth.
    """
    wanted = Wanted(tmp_path, CHART)
    charts = [wanted.now(CHART)]
    for door, key in (("Loft 1", "B"), ("Loft 2", "A")):
        charts.append(wanted.write(charts[-1].seen, _mark(door, key)))
    assert charts[-1].back == 2
    for expected in (charts[1], charts[0]):
        now = wanted.step(wanted.now(CHART).seen, back=True)
        assert now.chart == expected.chart
    assert (now.back, now.forth) == (0, 2)
    assert wanted.step(now.seen, back=True).chart == charts[0].chart
    now = wanted.step(now.seen, back=False)
    assert now.chart == charts[1].chart
    now = wanted.write(now.seen, _mark("Loft 1", "A", on=False))
    assert now.forth == 0
    assert Wanted(tmp_path, CHART).now(CHART).chart == now.chart


def test_an_edit_that_changes_nothing_is_no_step(tmp_path: Path) -> None:
    """Setting what is set writes nothing."""
    wanted = Wanted(tmp_path, CHART)
    same = wanted.write(wanted.now(CHART).seen, _mark("Loft 1", "A"))
    assert (same.back, same.findings) == (0, ())
    assert not (tmp_path / FILE).exists()


def test_dropping_brings_back_the_jobs_own_chart(tmp_path: Path) -> None:
    """The file is gone, and the steps with it."""
    wanted = Wanted(tmp_path, CHART)
    wanted.write(wanted.now(CHART).seen, _mark("Loft 1", "B"))
    wanted.drop()
    now = wanted.now(CHART)
    assert (now.chart, now.back) == (CHART, 0)
    assert not (tmp_path / FILE).exists()


@pytest.mark.parametrize("data", [b"", b"{}", b"not json", b'{"pinloom": "job", "schema": 1}'])
def test_a_damaged_file_is_told_and_kept(tmp_path: Path, data: bytes) -> None:
    """Nothing is written over a file that cannot be read: a person may want it back."""
    (tmp_path / FILE).write_bytes(data)
    wanted = Wanted(tmp_path, CHART)
    now = wanted.now(CHART)
    assert [found.code for found in now.findings] == ["edit-unreadable"]
    wrote = wanted.write(now.seen, _mark("Loft 1", "B"))
    assert [found.code for found in wrote.findings] == ["edit-unwritable"]
    assert (tmp_path / FILE).read_bytes() == data


def test_a_crash_before_the_name_changes_leaves_the_old_chart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The new file takes the name in one step; where it does not, the old one stands."""
    wanted = Wanted(tmp_path, CHART)
    first = wanted.write(wanted.now(CHART).seen, _mark("Loft 1", "B"))

    def crash(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "replace", crash)
    failed = wanted.write(first.seen, _mark("Loft 2", "A"))
    assert [found.code for found in failed.findings] == ["edit-unwritable"]
    monkeypatch.undo()
    assert Wanted(tmp_path, CHART).now(CHART).chart == first.chart
    assert wanted.now(CHART).chart == first.chart
