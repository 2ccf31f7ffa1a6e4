"""A user's own format file: read like a shipped one, refused with every reason at once."""

from pathlib import Path

import pytest

from pinloom import hardware
from pinloom.core.findings import Finding, Severity
from pinloom.core.hardware import BalancedDrivers, CoreKind, Provenance
from pinloom.core.lengths import from_inch, from_mm
from pinloom.messages import line

GOOD = """
name = "bench-3x4-030"
unit = "mm"
chambers = 3
reading = "bow to tip"
stop = "shoulder"
step = 0.750
first_cut = 4
spacing = "3.9"
macs = 3
least_step = 1
masters = [0.75, 1.5, 2.25]

[depths]
numbers = [1, 2, 3, 4]
roots = [8, 7.25, 6.5, 5.75]
pins = [4, 4.75, 5.5, 6.25]

[[origins]]
fields = ["*"]
provenance = "measured"
source = "own gauge"
"""


def codes(text: str) -> list[tuple[str, str]]:
    """(code, field) of every finding; each has its wording."""
    found = hardware.read_format(text).findings
    assert all(line(finding) for finding in found)
    return [(finding.code, dict(finding.values).get("field", "")) for finding in found]


def test_a_sound_file_is_a_format_without_findings() -> None:
    """Metric numbers, as numbers or texts, become whole nanometres; everything is measured."""
    read = hardware.read_format(GOOD)
    assert read.findings == ()
    assert read.format is not None
    assert read.format.step == from_mm("0.75")
    assert read.format.master_pins == (1, 2, 3)
    assert read.format.max_masters == 4
    assert read.format.shear_height() == from_mm("12")
    assert hardware.confirmed(read.format)


def test_a_file_on_disk_is_read_by_its_path(tmp_path: Path) -> None:
    """A path works where a name works."""
    path = tmp_path / "bench.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert hardware.load_format(path) == hardware.load_format(str(path))
    assert hardware.load_format(path).format == hardware.read_format(GOOD).format


def test_all_faults_come_at_once() -> None:
    """Eight faults of type and of sense in one file are eight findings, in one reading."""
    text = (
        GOOD.replace('reading = "bow to tip"', 'reading = "sideways"')
        .replace('spacing = "3.9"', 'spacing = "3.9000000001"')
        .replace("macs = 3", "macs = 4")
        .replace("least_step = 1", "least_step = 0")
        .replace("8, 7.25, 6.5, 5.75", "8, 7.25, 6.6, 5.75")
        .replace("4, 4.75, 5.5, 6.25", "4, 4.75, 5.4, 6.2")
        .replace("0.75, 1.5, 2.25", "0.4, 1.5, 2.2")
        .replace("chambers = 3", 'chambers = 3\ncolour = "blue"')
    )
    assert codes(text) == [
        ("hardware-bad-value", "reading"),
        ("hardware-bad-value", "spacing"),
        ("hardware-unknown-field", "colour"),
        ("hardware-missing-field", "reading"),
        ("hardware-missing-field", "spacing"),
        ("hardware-root-step", "depths.roots, item 3"),
        ("hardware-root-step", "depths.roots, item 4"),
        ("hardware-pin-constant", "depths.pins, item 4"),
        ("hardware-out-of-range", "macs"),
        ("hardware-out-of-range", "least_step"),
        ("hardware-not-multiple", "masters, item 1"),
        ("hardware-thin-pin", "masters, item 1"),
        ("hardware-not-multiple", "masters, item 3"),
    ]
    assert hardware.read_format(text).format is None


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("numbers = [1, 2, 3, 4]", "numbers = [1, 2, 4, 3]", "hardware-number-order"),
        ("numbers = [1, 2, 3, 4]", "numbers = [1, 2, 3]", "hardware-list-length"),
        ('name = "bench-3x4-030"', 'name = "Bench 3"', "hardware-bad-name"),
        ("chambers = 3", "chambers = 0", "hardware-out-of-range"),
        ("chambers = 3", "chambers = 3.0", "hardware-bad-value"),
        ("chambers = 3", "chambers = true", "hardware-bad-value"),
        ("first_cut = 4", "first_cut = -4", "hardware-not-positive"),
        ("first_cut = 4", "first_cut = nan", "hardware-bad-value"),
        ("first_cut = 4", "first_cut =", "hardware-not-toml"),
        ("masters = [0.75, 1.5, 2.25]", "masters = []", "hardware-no-masters"),
        ("masters = [0.75, 1.5, 2.25]", "masters = [1.5, 0.75]", "hardware-not-ascending"),
        ("[depths]", '[depths]\nstamped = ["1", "2", "2", "4"]', "hardware-stamped"),
        ('fields = ["*"]', 'fields = ["colour"]', "hardware-origin-field"),
        ('"measured"', '"guessed"', "hardware-bad-value"),
        ("[depths]", "[drivers]\ntotal = 4\n[depths]", "hardware-total-short"),
        ("[depths]", "[drivers]\n[depths]", "hardware-driver-kind"),
        (
            "[[origins]]",
            '[[drivers.bands]]\nlabel = "1"\nlow = 1\nhigh = 3\n[[origins]]',
            "hardware-driver-bands",
        ),
        (
            "[[origins]]",
            '[[security_drivers]]\nlabel = "s"\nreplaces = "x"\nchambers = [9]\n[[origins]]',
            "hardware-no-such-driver",
        ),
    ],
)
def test_nonsense_is_refused_by_name(old: str, new: str, expected: str) -> None:
    """Each kind of nonsense has a finding of its own, and no format comes out."""
    text = GOOD.replace(old, new, 1)
    assert text != GOOD
    assert expected in [code for code, _ in codes(text)]
    assert hardware.read_format(text).format is None


CORE = """
[core]
kind = "large format"
offset = 4
stack_total = 10
control_chambers = [2, 3]
buildups = [1, 2, 3, 4, 5, 6]

[drivers]
total = 7
"""


def test_large_format_core_file() -> None:
    """The large kind names its control chambers; elsewhere its ordinary drivers balance."""
    made = hardware.read_format(GOOD + CORE).format
    assert made is not None
    assert made.core is not None
    assert made.core.kind is CoreKind.LARGE
    assert made.core.control_chambers == (1, 2)
    assert made.drivers == BalancedDrivers(total=7)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("offset = 4", "offset = 3", "hardware-core-offset"),
        ("stack_total = 10", "stack_total = 8", "hardware-core-total"),
        ("control_chambers = [2, 3]", "control_chambers = [3, 4]", "hardware-chamber-list"),
        ("large format", "small format", "hardware-small-core-chambers"),
        ("buildups = [1, 2", "buildups = [0, 2", "hardware-not-ascending"),
        ("offset = 4", "", "hardware-missing-field"),
    ],
)
def test_core_nonsense_is_refused(old: str, new: str, expected: str) -> None:
    """A core whose arithmetic cannot be is refused."""
    text = GOOD + CORE.replace(old, new, 1)
    assert expected in [code for code, _ in codes(text)]


def test_falling_numbers_need_plain_drivers() -> None:
    """Depth numbers may fall as cuts deepen, but then sums of pin numbers mean nothing."""
    falling = GOOD.replace("numbers = [1, 2, 3, 4]", "numbers = [4, 3, 2, 1]")
    read = hardware.read_format(falling)
    assert read.format is not None
    assert read.format.level_of(4) == 0
    assert "hardware-number-sums" in [code for code, _ in codes(falling + CORE)]


def test_a_file_without_origins_counts_as_from_memory() -> None:
    """What nobody vouches for is shown as unconfirmed, field by field."""
    read = hardware.read_format(GOOD.split("[[origins]]")[0])
    assert read.format is not None
    assert not hardware.confirmed(read.format)
    assert [f.code for f in read.findings] == ["hardware-from-memory"]


def test_a_short_file_confirms_a_shipped_format(tmp_path: Path) -> None:
    """Four lines over a shipped format turn its memory numbers into measured ones."""
    path = tmp_path / "mine.toml"
    path.write_text(
        'based_on = "us-6x10-015"\n[[origins]]\n'
        'fields = ["depths.pins", "drivers.lengths", "dimensions.cut_flat"]\n'
        'provenance = "measured"\nsource = "gauge, in the shop"\n',
        encoding="utf-8",
    )
    read = hardware.load_format(path)
    shipped = hardware.load_format("us-6x10-015").format
    assert read.findings == ()
    assert shipped is not None
    assert read.format == hardware.confirm(shipped, "gauge, in the shop")


def test_a_changed_number_loses_its_source(tmp_path: Path) -> None:
    """A value put over a published one is not published any more."""
    path = tmp_path / "mine.toml"
    path.write_text('based_on = "us-6x6-028"\nname = "mine-6x6-028"\nmacs = 5\n', encoding="utf-8")
    read = hardware.load_format(path)
    assert read.format is not None
    assert read.format.macs == 5
    assert read.format.from_memory() == ("macs",)


def test_files_based_on_each_other_are_refused(tmp_path: Path) -> None:
    """A circle of bases is a finding, not a loop."""
    for one, other in (("a", "b"), ("b", "a")):
        (tmp_path / f"{one}.toml").write_text(f'based_on = "{other}.toml"\n', encoding="utf-8")
    read = hardware.load_format(tmp_path / "a.toml")
    assert [finding.code for finding in read.findings] == ["hardware-base-circle"]


def test_unknown_names_and_unreadable_files(tmp_path: Path) -> None:
    """No such format, a folder, and a file that is no text: one fault each, never an exception."""
    binary = tmp_path / "x.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    found: list[Finding] = []
    for name in ("us-6x10-016", str(tmp_path), str(binary)):
        read = hardware.load_format(name)
        assert read.format is None
        found.extend(read.findings)
    assert [finding.code for finding in found] == [
        "hardware-unknown-format",
        "hardware-unknown-format",
        "hardware-not-utf8",
    ]
    assert {finding.severity for finding in found} == {Severity.FAULT}


@pytest.mark.parametrize("name", hardware.shipped())
def test_a_written_format_reads_back_the_same(name: str) -> None:
    """Format -> text -> format loses nothing, so a job can keep its formats."""
    made = hardware.load_format(name).format
    assert made is not None
    assert hardware.read_format(hardware.format_text(made)).format == made


def test_confirm_changes_only_what_is_named() -> None:
    """Confirmation marks fields as measured and refuses fields that are not there."""
    made = hardware.load_format("us-6x10-020").format
    assert made is not None
    one = hardware.confirm(made, "chart in hand", ["macs"])
    assert {o.field for o in one.origins if o.provenance is Provenance.MEASURED} == {"macs"}
    with pytest.raises(ValueError, match="no fields"):
        hardware.confirm(made, "chart in hand", ["colour"])


def test_macs_above_the_formula_is_a_caution() -> None:
    """With 110 degrees the formula gives 5, and the stated 7 only warns."""
    shipped = hardware.load_format("us-6x10-015").format
    assert shipped is not None
    text = hardware.format_text(shipped).replace("cut_angle = 100", "cut_angle = 110")
    read = hardware.read_format(text)
    found = [f for f in read.findings if f.code == "hardware-macs-formula"]
    assert [f.value("formula") for f in found] == ["5"]
    assert read.format is not None
    assert read.format.spacing == from_inch("0.1562")
