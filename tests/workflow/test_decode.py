"""Pins found in a cylinder: what they are, who opens them, what they would be taken for."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.core.job import FaultKind, Job
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.hardware import load_format
from pinloom.pinning import with_driver
from pinloom.workflow.decode import DecodeOrder, DecodeResult, decode_pins
from pinloom.workflow.folder import load
from pinloom.workflow.foundpins import from_text
from pinloom.workflow.likeness import likeness
from pinloom.workflow.verdict import judge_job
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, codes, job_of, pinned, write

HEAD = "door,chamber,bottom,masters,buildup,driver\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The published chart with its mended bittings: proved."""
    made = tmp_path_factory.mktemp("decode")
    pinned(made)
    pinned(made, KEYNOTES_BITTINGS, out=made / "printed")
    return made


def _decode(folder: Path, door: str = "", text: str | None = None, **more: object) -> DecodeResult:
    order = DecodeOrder(folder=folder / "job", door=door, text=text, **more)  # type: ignore[arg-type]
    return decode_pins(order)


@pytest.mark.published
def test_keynotes_106_as_printed(folder: Path) -> None:
    """*Keynotes*, February 2022, p. 36, row of 106 pinned for the printed bittings: bottoms 3 4 3 4
    2 1, master pins of two in chambers 2 to 4 (recomputed): as on record, 8 combinations (derived),
    and the maintenance key opens it although the chart has it not (derived).
    """
    result = decode_pins(
        DecodeOrder(folder=folder / "printed", door="106", text="3 4+2 3+2 4+2 2 1")
    )
    (one,) = result.cylinders
    assert one.same
    assert one.combinations == 8
    assert {(key.key, key.shall) for key in one.openers} == {
        ("cleaning", True), ("quality", True), ("sales", True), ("maintenance", False)
    }  # fmt: skip
    assert one.faulty
    assert not result.same


def test_a_chamber_that_differs_is_named(folder: Path) -> None:
    """A master pin left out in chamber 3 of 106: sales, whose cut stood on it, is kept out."""
    (one,) = _decode(folder, "106", "3 4 5 4+2 2 1").cylinders
    assert [(d.chamber, d.record, d.found) for d in one.differences] == [(3, "3+2", "5")]
    assert one.blocked == ("sales",)
    assert [(near.name, near.chambers) for near in one.nearly] == [
        ("maintenance", (2,)),
        ("sales", (3,)),
    ]
    assert not one.same
    assert one.faulty


def test_within_the_least_step_counts_as_opening(folder: Path) -> None:
    """A bottom pin one step off: no key stands on its line, yet two-step hardware may let it in."""
    (one,) = _decode(folder, "107", "3 6 5 6 2 2").cylinders
    assert [(key.key, key.exact, key.shall) for key in one.openers] == [
        ("maintenance", False, True)
    ]
    assert one.blocked == ("maintenance",)


def test_which_door_could_it_be(folder: Path) -> None:
    """104A and 104B are pinned alike: both are named; an unknown chamber is no difference."""
    (one,) = _decode(folder, "", "3 4 3+2 6 2 1").cylinders
    assert [(near.name, near.chambers) for near in one.doors] == [("104A", ()), ("104B", ())]
    assert one.same
    assert {key.key for key in one.openers} == {"sales", "cleaning"}
    assert one.left_over == ()
    (part,) = _decode(folder, "", "? 4 ? 6 2 1").cylinders
    assert [near.name for near in part.doors] == ["102", "104A", "104B"]
    assert part.unknown == (1, 3)
    assert part.combinations is None


def test_what_no_door_has_is_told_by_its_nearest(folder: Path) -> None:
    """One pin of 107 exchanged: 107 is the nearest, by one chamber, and no key stands on it."""
    (one,) = _decode(folder, "", "3 6 5 6 2 9").cylinders
    assert (one.doors[0].name, one.doors[0].chambers) == ("107", (6,))
    assert not one.same
    assert one.openers == ()
    assert [(near.name, near.chambers) for near in one.nearly] == [("maintenance", (6,))]


def test_a_line_that_no_key_uses_is_left_over(folder: Path) -> None:
    """Pinned for sales and one more cut in chamber 6: taken for 102, a line of it unused."""
    (one,) = _decode(folder, "102", "3 4 3 6 2 1+4").cylinders
    assert [key.key for key in one.openers] == ["sales"]
    assert one.left_over == ((6, 1),)
    assert not one.faulty


def test_measured_pins_are_read(folder: Path) -> None:
    """106 measured: each depth's own bottom pin, masters of two steps, in inches and in mm; a
    length between two sizes is named with its chamber and not guessed."""
    made = load_format(FORMAT).format
    assert made is not None
    job = load(folder / "job").job
    assert job is not None
    words = {"inch": [], "mm": []}  # type: dict[str, list[str]]
    for stack in job.pinning[job.chart.door_index()["106"]].chambers:
        assert stack is not None
        bottom = made.depths[stack.bottom].bottom_pin
        assert bottom is not None
        lengths = [bottom, *(size * made.step for size in stack.masters), 4_000_000]
        words["inch"].append("+".join(f"{nm / 25_400_000:.6f}" for nm in lengths))
        words["mm"].append("+".join(f"{nm / 1_000_000:.6f}" for nm in lengths))
    for unit, text in words.items():
        read = from_text(" ".join(text), "106", made, unit)
        one = likeness(job, "106", read.cylinders["106"])
        assert [d for d in one.differences if not d.driver] == []
        table = write(
            folder,
            lengths="door,chamber,lengths\n"
            + "".join(f"106,{c},{word}\n" for c, word in enumerate(text, start=1) if c != 2)
            + "drawer,3,-\ndrawer,4,?\ndrawer,5,\n",
        )["lengths"]
        first, second = _decode(folder, table=table, unit=unit).cylinders
        assert (first.unknown, [d for d in first.differences if not d.driver]) == ((2,), [])
        assert second.unknown == (1, 2, 4, 5, 6)
    between = " ".join(["0.5+0.2", *words["inch"][1:]])
    refused = _decode(folder, "106", between, unit="inch")
    assert codes(refused.findings) == ["pinning-pin-unread"]
    assert refused.findings[0].value("chamber") == "1"


def test_a_table_may_hold_doors_and_strangers(folder: Path, tmp_path: Path) -> None:
    """A door of the record, one with a ``?``, and a cylinder from a drawer, each answered."""
    table = write(
        tmp_path,
        pins=HEAD
        + "".join(f"107,{c},{b},,,\n" for c, b in enumerate("365621", start=1))
        + "103,1,3,,,\n103,2,?,,,\n103,3,5,?,,\n103,4,6,,,9\n"
        + "".join(f"drawer 2,{c},{b},,,\n" for c, b in enumerate("345421", start=1)),
    )["pins"]
    result = _decode(folder, table=table)
    first, second, third = result.cylinders
    assert (first.door, first.same, first.faulty) == ("107", True, False)
    assert second.unknown == (2, 3, 5, 6)
    assert [(d.chamber, d.driver) for d in second.differences] == [(4, True)]
    assert (third.door, [near.name for near in third.doors]) == ("", ["105"])
    assert not result.same
    only = _decode(folder, "107", table=table)
    assert [one.name for one in only.cylinders] == ["107"]
    assert only.same
    assert codes(_decode(folder, "101", table=table).findings) == ["found-door-untold"]


@pytest.mark.parametrize(
    ("rows", "code", "row"),
    [
        ("106,1,0.5+0.2\n", "pinning-pin-unread", 2),
        ("106,1,?\n106,1,-\n", "pins-chamber-twice", 3),
        ("106,7,-\n", "pins-no-such-chamber", 2),
        ("106,1,0.2\n", "found-needs-driver", 2),
        ("106,1,wide\n", "found-unreadable", 2),
    ],
)
def test_bad_rows_of_measured_pins_have_their_place(
    folder: Path, tmp_path: Path, rows: str, code: str, row: int
) -> None:
    """Each with its row, and nothing is compared."""
    table = write(tmp_path, lengths="door,chamber,lengths\n" + rows)["lengths"]
    result = _decode(folder, table=table, unit="inch")
    faults = [one for one in result.findings if one.severity.value == "fault"]
    assert [(one.code, one.place.row) for one in faults] == [(code, row)]
    assert result.job is None
    headless = write(tmp_path, lengths="door,chamber\n106,1\n")["lengths"]
    missing = _decode(folder, table=headless, unit="inch")
    assert codes(missing.findings) == ["cuts-column-missing"]


@pytest.mark.parametrize(
    ("door", "text", "unit", "code"),
    [
        ("nowhere", "3 4 5 6 2 1", "", "found-door-unknown"),
        ("106", "3 4 5", "", "found-count"),
        ("106", "3 4 5 6 2 x", "", "found-unreadable"),
        ("106", "3 4 5 6 2 1+0", "", "found-unreadable"),
        ("106", "3 4 5 6 2 10", "", "found-unreadable"),
        ("106", "3 4 5 6 2 1/", "", "found-unreadable"),
        ("106", "? ? ? ? ? ?", "", "found-nothing"),
        ("106", "? ? ? ? ? 0.2", "inch", "found-needs-driver"),
        ("106", "? ? ? ? ? a+b", "inch", "found-unreadable"),
    ],
)
def test_bad_pins_are_refused(folder: Path, door: str, text: str, unit: str, code: str) -> None:
    """Each with its own finding; none repeats what was typed."""
    result = _decode(folder, door, text, unit=unit)
    assert result.job is None
    assert codes(result.findings) == [code]
    assert "1+0" not in str(result.findings)


@pytest.fixture(scope="module")
def job(folder: Path) -> Job:
    """The mended job."""
    found = load(folder / "job").job
    assert found is not None
    return found


STACKS = st.one_of(
    st.none(),
    st.builds(
        PinStack,
        bottom=st.integers(0, 6),
        masters=st.lists(st.integers(1, 3), max_size=1).map(tuple),
    ),
)


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_the_proof_says_the_same(job: Job, data: st.DataObject) -> None:
    """Whatever pins are in a door: keys that open and shall not, and keys that do not and shall,
    are those that the proof finds in a job with these pins."""
    door = data.draw(st.integers(0, len(job.chart.doors) - 1))
    record = job.pinning[door].chambers
    drawn = [
        data.draw(st.one_of(st.just(stack), STACKS)) for stack in record
    ]  # near the record, so that keys do open
    stacks = tuple(s and with_driver(job.key_format, c, s) for c, s in enumerate(drawn))
    name = job.chart.doors[door].name
    found = PinnedCylinder(door=name, chambers=stacks)
    pinning = (*job.pinning[:door], found, *job.pinning[door + 1 :])
    faults = [f for f in judge_job(replace(job, pinning=pinning)).faults if f.door == name]
    one = likeness(job, name, dict(enumerate(stacks)))
    wrong = {key.key for key in one.openers if not key.shall}
    assert wrong == {f.key for f in faults if f.kind is FaultKind.OPENS}
    assert set(one.blocked) == {f.key for f in faults if f.kind is FaultKind.BLOCKED}
    assert one.same == (stacks == record)


def test_a_core_s_control_key_is_told(tmp_path: Path) -> None:
    """A small-format core as pinned: its control key turns the sleeve; with a build-up pin two
    steps longer it does not, and the chamber is named."""
    paths = write(
        tmp_path,
        chart="door,TOP,AA\nLoft 1,x,x\nLoft 2,x,\n",
        cuts="key,stamped\nTOP,5286143\nAA,7428365\ncontrol,9604781\n",
    )
    from pinloom.workflow.inputs import ChartSource
    from pinloom.workflow.pin import PinOrder, pin

    made = job_of(
        pin(
            PinOrder(
                chart=ChartSource(path=paths["chart"]),
                hardware="ic-7x10-0125",
                bittings=paths["cuts"],
                out=tmp_path / "job",
            )
        )
    )
    known = dict(enumerate(made.pinning[0].chambers))
    whole = likeness(made, "Loft 1", known)
    assert [(key.key, key.exact, key.shall) for key in whole.controls] == [("control", True, True)]
    assert whole.same
    first = known[0]
    assert first is not None
    assert first.buildup is not None
    changed = likeness(made, "Loft 1", known | {0: replace(first, buildup=first.buildup + 2)})
    assert changed.controls == ()
    assert changed.blocked == ("control",)
    assert [d.chamber for d in changed.differences] == [1]
