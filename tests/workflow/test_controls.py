"""Control keys in the use cases: chosen, given, completed, and kept away from other systems."""

from importlib.resources import as_file, files
from pathlib import Path

import pytest

from pinloom.pinning import check_controls
from pinloom.workflow.avoid import Avoided
from pinloom.workflow.controls import _keeps_away
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, pin
from tests.workflow.kit import codes, write

CORE = "ic-7x10-0125"
CHART = "door,TMK,a,b,c\n1,x,x,,\n2,x,,x,\n3,x,,,x\n"
CUTS = "key,stamped\nTMK,5286140\na,7428360\nb,3040520\nc,1862980\n"


def _alder_quay(out: Path, **more: object) -> DesignResult:
    with as_file(files("pinloom.workflow") / "alder_quay") as chart:
        order = DesignOrder(
            chart=ChartSource(path=chart / "doors.csv", keys=chart / "keys.csv"),
            hardware=CORE,
            out=out,
            budget=50,
        )
        for field, value in more.items():
            object.__setattr__(order, field, value)
        return design_job(order)


def test_alder_quay_on_cores_is_proved_at_both_shear_lines(tmp_path: Path) -> None:
    """The example chart on small-format cores: a control key is chosen, all of it proved."""
    result = _alder_quay(tmp_path / "job")
    assert result.job is not None
    assert result.job.proof.proved
    assert [control.group for control in result.job.controls] == [""]
    assert all(
        stack is not None and stack.buildup is not None
        for cylinder in result.job.pinning
        for stack in cylinder.chambers
    )
    formats = [result.job.format_of(door) for door in range(len(result.job.chart.doors))]
    assert (
        check_controls(
            result.job.chart,
            result.job.key_format,
            formats,
            result.job.bittings,
            result.job.controls,
        )
        == ()
    )


def _pin(folder: Path, *controls: str, chart: str = CHART) -> tuple[bool | None, set[str]]:
    paths = write(folder, chart=chart, cuts=CUTS)
    result = pin(
        PinOrder(
            chart=ChartSource(path=paths["chart"]),
            hardware=CORE,
            bittings=paths["cuts"],
            out=folder / "job",
            controls=controls,
        )
    )
    proved = None if result.job is None else result.job.proof.proved
    return proved, set(codes(result.findings))


def test_existing_cores_need_their_control_key(tmp_path: Path) -> None:
    """Without one the job has a fault; given whole or with free cuts it is proved."""
    proved, found = _pin(tmp_path)
    assert not proved
    assert "pinning-no-control" in found
    for control in ("9604785", "96?????", "???????"):
        proved, found = _pin(tmp_path, control)
        assert proved, control
        assert not found & {"pinning-no-control", "pinning-control-near-master"}


def test_an_unwise_control_key_is_said(tmp_path: Path) -> None:
    """A given control key that shares a cut with the top master still works, with a caution."""
    proved, found = _pin(tmp_path, "5604785")
    assert proved
    assert "pinning-control-near-master" in found


def test_control_keys_by_group(tmp_path: Path) -> None:
    """Two core groups: one control key given, the other chosen."""
    chart = "door,core group,TMK,a,b,c\n1,east,x,x,,\n2,west,x,,x,\n3,west,x,,,x\n"
    proved, found = _pin(tmp_path, "east:9604785", "west:???????", chart=chart)
    assert proved, found


@pytest.mark.parametrize(
    ("levels", "expected"), [((0, 0), False), ((5, 3), False), ((5, 5), True), ((9, 4), False)]
)
def test_chosen_control_keys_keep_away_from_other_systems(
    levels: tuple[int, int], expected: bool
) -> None:
    """Not a key on record elsewhere, and the least step from a foreign cylinder in some chamber;
    chambers without pins keep nobody out.
    """
    avoided = Avoided(bittings=((0, 0),), stacks=(((), (1, 3)),))
    assert _keeps_away(avoided, 2, levels) is expected


def test_the_published_table_of_a_core_comes_out_of_the_program(tmp_path: Path) -> None:
    """I-1, row by row, through files: control 960478, top master 528614 and three change keys."""
    # *5402 Series Technical Manual* (small-format cores), pp. 3-17, 3-19.
    chart = "door,TMK,a,b,c\n1,x,x,,\n2,x,,x,\n3,x,,,x\n4,x,,,\n"
    cuts = "key,stamped\nTMK,528614\na,742836\nb,304052\nc,186290\ncontrol,960478\n"
    paths = write(tmp_path, chart=chart, cuts=cuts)
    source = ChartSource(path=paths["chart"])
    pin(
        PinOrder(
            chart=source, hardware="ic-6x10-0125", bittings=paths["cuts"], out=tmp_path / "job"
        )
    )
    lines = (tmp_path / "job" / "pinning.csv").read_text(encoding="utf-8").splitlines()[1:]
    cells = [line.split(",") for line in lines]
    table = {
        door: tuple(
            " ".join(row[column] for row in cells if row[0] == door) for column in range(2, 6)
        )
        for door in "1234"
    }
    top = "4 7 13 9 6 5"
    assert table == {
        "1": ("5 2 2 6 1 4", "2 2 6 2 2 2", "12 12 2 6 14 12", top),
        "2": ("3 0 4 0 1 2", "2 2 4 6 4 2", "14 14 2 8 12 14", top),
        "3": ("1 2 6 2 1 0", "4 6 2 4 8 4", "14 8 2 8 8 14", top),
        "4": ("5 2 8 6 1 4", "     ", "14 14 2 8 16 14", top),
    }


def test_security_drivers_are_used_when_asked_for(tmp_path: Path) -> None:
    """A format that lists one for chamber 1: it stands there with the option and not without."""
    made = tmp_path / "own.toml"
    made.write_text(
        'based_on = "us-6x6-028"\nname = "own-6x6-028"\n[[security_drivers]]\n'
        'label = "grooved"\nreplaces = "standard"\nchambers = [1]\n',
        encoding="utf-8",
    )
    paths = write(tmp_path, chart="door,a\n1,x\n", cuts="key,stamped\na,123456\n")
    for asked in (False, True):
        result = pin(
            PinOrder(
                chart=ChartSource(path=paths["chart"]),
                hardware=str(made),
                bittings=paths["cuts"],
                out=tmp_path / f"job{asked}",
                security_drivers=asked,
            )
        )
        assert result.job is not None
        assert result.job.proof.proved
        drivers = [stack.driver for stack in result.job.pinning[0].chambers if stack]
        assert drivers == ["grooved" if asked else "standard", *["standard"] * 5]
