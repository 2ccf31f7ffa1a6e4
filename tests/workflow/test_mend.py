"""Existing systems, incomplete or faulty: what is wrong, and the least that mends it."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.core.job import ClaimKind, FaultKind
from pinloom.workflow.folder import load
from pinloom.workflow.grow import GrowOrder, grow_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.mend import MendOrder, MendResult, mend
from pinloom.workflow.pin import PinOrder, pin
from tests.workflow.kit import (
    FORMAT,
    KEYNOTES_BITTINGS,
    KEYNOTES_CHART,
    MENDED_BITTINGS,
    codes,
    pinned,
    write,
)

DOORS = [row.split(",")[0] for row in KEYNOTES_CHART.splitlines()[1:]]


def _mend(
    folder: Path, cuts: str, pins: str | None = None, recut: tuple[str, ...] = ()
) -> MendResult:
    paths = write(folder, chart=KEYNOTES_CHART, found=cuts)
    table = write(folder, pins=pins)["pins"] if pins is not None else None
    return mend(
        MendOrder(
            found=PinOrder(
                chart=ChartSource(path=paths["chart"]),
                hardware=FORMAT,
                bittings=paths["found"],
                pinning=table,
                out=folder / "mended",
            ),
            may_recut=recut,
        )
    )


def _plan(result: MendResult) -> set[tuple[str, str]]:
    assert result.job is not None, codes(result.findings)
    assert result.job.proof.proved
    return {(one.name, one.what) for one in result.changes}


def _claims(result: MendResult) -> dict[str, tuple[int, bool]]:
    assert result.job is not None
    return {
        claim.measure: (claim.value, claim.kind is ClaimKind.PROVED_LEAST)
        for claim in result.job.claims
    }


@pytest.fixture
def field(tmp_path: Path) -> str:
    """The pins of the published chart with its mended bittings, as a table of the field."""
    pinned(tmp_path)
    return (tmp_path / "job/pinning.csv").read_text()


@pytest.mark.published
def test_keynotes_as_printed_is_mended(tmp_path: Path) -> None:
    """*Keynotes*, February 2022, p. 36: three wrong openings; pins alone cannot mend them (104A
    admits sales and cleaning, and then maintenance). One key and three cylinders do, proved least.
    """
    result = _mend(tmp_path, KEYNOTES_BITTINGS)
    assert result.as_found is not None
    assert [(f.kind, f.key, f.door) for f in result.as_found.proof.faults] == [
        (FaultKind.OPENS, "maintenance", door) for door in ("104A", "104B", "106")
    ]
    assert _claims(result) == {"keys re-cut": (1, True), "cylinders re-pinned": (3, True)}
    assert sorted(what for _, what in _plan(result)) == ["re-cut", "re-pin", "re-pin", "re-pin"]
    assert result.job is not None
    assert result.job.revision == 2
    assert (tmp_path / "mended/earlier/revision-1.json").exists()


@pytest.mark.published
def test_keynotes_from_its_folder(tmp_path: Path) -> None:
    """The same by two commands: the folder marked NOT PROVED is grown to the same chart."""
    pinned(tmp_path, KEYNOTES_BITTINGS)
    assert (tmp_path / "job/NOT-PROVED.txt").exists()
    source = ChartSource(path=tmp_path / "chart.csv")
    order = GrowOrder(folder=tmp_path / "job", chart=source, out=tmp_path / "grown")
    alone = grow_job(order)
    assert alone.refusal is not None
    assert alone.refusal.proved
    assert {door for _, door in alone.refusal.clashes} == {"104A", "104B", "106"}
    again = grow_job(
        GrowOrder(folder=tmp_path / "job", chart=source, out=tmp_path / "grown", may_recut=("*",))
    )
    assert again.job is not None
    at_once = _mend(tmp_path, KEYNOTES_BITTINGS).job
    assert at_once is not None
    assert (again.job.bittings, again.job.pinning) == (at_once.bittings, at_once.pinning)


def test_only_the_named_keys_are_re_cut(tmp_path: Path) -> None:
    """Quality takes no part in 104A: with it alone nothing mends it, proved. Without the key that
    opens too much, two others must change."""
    refused = _mend(tmp_path, KEYNOTES_BITTINGS, recut=("quality",))
    assert refused.refusal is not None
    assert refused.refusal.proved
    assert refused.job is None
    assert not (tmp_path / "mended").exists()
    others = _mend(tmp_path, KEYNOTES_BITTINGS, recut=("cleaning", "quality", "sales"))
    assert _claims(others)["keys re-cut"] == (2, True)
    assert sum(what == "re-cut" for _, what in _plan(others)) == 2
    unknown = _mend(tmp_path, KEYNOTES_BITTINGS, recut=("nobody",))
    assert "growth-recut-unknown" in codes(unknown.findings)


def test_a_wrong_pin_needs_its_cylinder_alone(tmp_path: Path, field: str) -> None:
    """A bottom pin two depths off in 107: no key is re-cut, one cylinder re-pinned."""
    wrong = field.replace("107,1,3,,,1", "107,1,5,,,2")
    assert wrong != field
    result = _mend(tmp_path, MENDED_BITTINGS, wrong)
    assert result.as_found is not None
    assert [(f.kind, f.key, f.door) for f in result.as_found.proof.faults] == [
        (FaultKind.BLOCKED, "maintenance", "107")
    ]
    assert _plan(result) == {("107", "re-pin")}
    assert _claims(result) == {"keys re-cut": (0, True), "cylinders re-pinned": (1, True)}


def test_nothing_wrong_is_left_alone(tmp_path: Path, field: str) -> None:
    """A sound system: no change at all."""
    assert _plan(_mend(tmp_path, MENDED_BITTINGS, field)) == set()


def test_unknown_cuts_are_read_off_the_pins(tmp_path: Path, field: str) -> None:
    """The cut that only 107 tells is found, and so is a key without any row, because 107 and 105
    are pinned for one key each; nothing is to be done, and it is said."""
    cuts = "key,stamped\nmaintenance,36?621\nsales,343621\ncleaning,345621\n"
    result = _mend(tmp_path, cuts, field)
    assert _plan(result) == set()
    assert result.job is not None
    known = result.job.cuts()
    assert known["maintenance"] == (3, 6, 5, 6, 2, 1)
    assert known["quality"] == (3, 4, 5, 4, 2, 1)
    read = [one for one in result.findings if one.code == "mend-read-off"]
    assert [(one.value("key"), one.value("cuts")) for one in read] == [
        ("maintenance", "1"),
        ("quality", "6"),
    ]


def test_a_key_that_the_pins_do_not_tell_is_planned(tmp_path: Path, field: str) -> None:
    """Cleaning opens 103 and doors of sales; with 103 unread, chamber 3 may be either line. The key
    gets cuts that the pins on the wall serve, so 103 alone is to be read or set up."""
    rows = [row for row in field.splitlines(keepends=True) if not row.startswith("103,")]
    cuts = "key,stamped\nmaintenance,365621\nsales,343621\nquality,345421\n"
    missing = _mend(tmp_path, cuts, "".join(rows))
    assert "mend-key-missing" in codes(missing.findings)
    assert _plan(missing) == {("cleaning", "cut"), ("103", "read or re-pin")}
    partly = _mend(tmp_path, cuts + "cleaning,34?62?\n", "".join(rows))
    (said,) = [one for one in partly.findings if one.code == "mend-key-open"]
    assert (said.value("key"), said.value("cuts")) == ("cleaning", "2")
    assert _plan(partly) == {("cleaning", "read or cut"), ("103", "read or re-pin")}
    (change,) = [one for one in partly.changes if one.name == "cleaning"]
    assert (change.before, change.after) == ("3 4 ? 6 2 ?", "345621")


def test_unread_cylinders_are_planned(tmp_path: Path, field: str) -> None:
    """No row for 103; one chamber of 106 not known and the others as planned; one of 101 not known
    and another wrong: two to be read or re-pinned, one to be re-pinned in any case."""
    rows = [row for row in field.splitlines(keepends=True) if not row.startswith("103,")]
    text = "".join(rows).replace("106,3,3,2,,2", "106,3,?,,,").replace("101,1,3,,,1", "101,1,7,,,2")
    text = text.replace("101,4,4,2,,2", "101,4,?,,,")
    assert text.count("?") == 2
    result = _mend(tmp_path, MENDED_BITTINGS, text)
    assert _plan(result) == {
        ("101", "re-pin"),
        ("103", "read or re-pin"),
        ("106", "read or re-pin"),
    }
    before = {one.name: one.before for one in result.changes}
    assert before == {"101": "7 4+2 3+2 ? 2 1", "103": "", "106": "3 4 ? 4+2 2 1"}
    assert [set(one.blocked) for one in result.partly] == [
        {"cleaning", "maintenance", "quality", "sales"},
        set(),
    ]
    assert {"mend-chambers-open", "mend-doors-open"} <= set(codes(result.findings))
    assert result.job is not None
    assert result.job.revision == 1  # what was found is not whole, so it is no revision
    loaded = load(tmp_path / "mended").job
    assert loaded == result.job


@pytest.mark.parametrize(
    ("cuts", "code"),
    [
        ("key,stamped\nsales,34x621\n", "cuts-stamp-unreadable"),
        ("key,stamped\nnobody,34?621\n", "cuts-key-unknown"),
        ("key,stamped\nsales,34?621\nsales,343621\n", "cuts-key-twice"),
        (
            (
                "key,c1,c2,c3,c4,c5,c6,stamped\nsales,3,4,?,6,2,1,343621\n"
                "maintenance,,,,,,,365621\nquality,,,,,,,345421\ncleaning,,,,,,,345621\n"
            ),
            "",
        ),
        ("key,c1,c2,c3,c4,c5,c6,stamped\nsales,3,4,?,6,2,1,3?9622\n", "cuts-stamp-differs"),
        ("key,stamped\ncontrol,34?621\n", "mend-control-open"),
    ],
)
def test_bad_tables_are_refused(tmp_path: Path, cuts: str, code: str) -> None:
    """Each with its own finding, and nothing is written; a stamp completes numbered cuts."""
    result = _mend(tmp_path, cuts)
    if code:
        assert code in codes(result.findings)
        assert result.job is None
        assert not (tmp_path / "mended").exists()
    else:
        assert result.as_found is not None
        assert result.as_found.cuts()["sales"] == (3, 4, 3, 6, 2, 1)


def _cores(folder: Path, control: str, pins: str | None, given: tuple[str, ...] = ()) -> MendResult:
    """Three doors of one core group, whose keys are known."""
    cuts = f"key,stamped\nTMK,5286140\na,7428360\nb,3040520\nc,1862980\n{control}"
    chart = "door,TMK,a,b,c\n1,x,x,,\n2,x,,x,\n3,x,,,x\n"
    paths = write(folder, cores=chart, found=cuts)
    found = PinOrder(
        chart=ChartSource(path=paths["cores"]),
        hardware="ic-7x10-0125",
        bittings=paths["found"],
        pinning=write(folder, pins=pins)["pins"] if pins is not None else None,
        controls=given,
        out=folder / "mended",
    )
    if "?" in control + "".join(given) or not control:
        return mend(MendOrder(found=found))
    done = pin(replace(found, out=folder / "job"))
    assert done.job is not None
    assert done.job.proof.proved, done.job.proof.faults
    return MendResult(job=done.job)


CONTROL = "control,4705261\n"


def test_a_control_key_is_read_off_the_pins(tmp_path: Path) -> None:
    """Build-up = control + offset - plug total: one core tells every control cut that is not
    written, also all of them; nothing then is to be done."""
    made = _cores(tmp_path, CONTROL, None).job
    assert made is not None
    pins = (tmp_path / "job/pinning.csv").read_text()
    one_core = "".join(line for line in pins.splitlines(keepends=True) if line[0] in "d1")
    for control, table, option in (
        ("control,4?05??1\n", pins, ()),
        ("control,???????\n", one_core, ()),
        ("control,??????1\n", one_core, ("47?????",)),
        ("", one_core, ("4?0?26?",)),
    ):
        result = _cores(tmp_path, control, table, option)
        assert result.job is not None, codes(result.findings)
        assert result.job.controls == made.controls
        assert result.job.proof.proved
        assert "mend-control-read" in codes(result.findings)
        assert not {"cut", "re-cut", "re-pin"} & {one.what for one in result.changes}
        shutil.rmtree(tmp_path / "mended")


def test_a_control_key_that_the_pins_do_not_tell_is_refused(tmp_path: Path) -> None:
    """Without pins, with a chamber that nobody read, and with cores that contradict each other."""
    assert _cores(tmp_path, CONTROL, None).job is not None
    lines = (tmp_path / "job/pinning.csv").read_text().splitlines(keepends=True)
    head, body = lines[0], [line for line in lines[1:] if line.startswith("1,")]
    other = []
    for line in lines[1:]:
        if line.startswith("2,2,"):
            cells = line.split(",")
            cells[4] = str(int(cells[4]) + 1)
            other.append(",".join(cells))
        else:
            other.append(line)
    for pins, cuts in (
        (None, "2, 7"),
        (head + "".join(line for line in body if not line.startswith("1,2,")), "2"),
        (head + "".join(other), "2"),
    ):
        result = _cores(tmp_path, "control,4?0526?\n", pins)
        assert result.job is None
        (said,) = [one for one in result.findings if one.code == "mend-control-open"]
        assert said.value("cuts") == cuts
        assert not (tmp_path / "mended").exists()
    clash = _cores(tmp_path, "control,4?05261\n", head + "".join(body), ("3??????",))
    assert "cuts-not-as-given" in codes(clash.findings)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A folder to work in, and the pins of the mended chart."""
    made = tmp_path_factory.mktemp("whole")
    pinned(made)
    return made, (made / "job/pinning.csv").read_text()


@given(
    spoiled=st.sets(st.sampled_from(DOORS), max_size=3),
    absent=st.sets(st.sampled_from(DOORS), max_size=3),
    chamber=st.integers(1, 6),
)
@settings(max_examples=12, deadline=None)
def test_just_the_cylinders_that_need_it_are_touched(
    whole: tuple[Path, str], spoiled: set[str], absent: set[str], chamber: int
) -> None:
    """With sound keys the plan re-pins the doors with a wrong pin and has the unread ones read, and
    no other; each figure is proved to be the least."""
    folder, text = whole
    rows = [row.split(",") for row in text.splitlines()]
    kept = [row for row in rows if row[0] not in absent]
    for row in kept[1:]:
        if row[0] in spoiled and int(row[1]) == chamber:
            row[2:] = ["9", "", "", ""]
    shutil.rmtree(folder / "mended", ignore_errors=True)
    result = _mend(folder, MENDED_BITTINGS, "\n".join(",".join(row) for row in kept) + "\n")
    assert _plan(result) == {(door, "re-pin") for door in spoiled - absent} | {
        (door, "read or re-pin") for door in absent
    }
    count = len(spoiled | absent)
    assert _claims(result) == {"keys re-cut": (0, True), "cylinders re-pinned": (count, True)}
