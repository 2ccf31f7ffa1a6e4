"""The shipped formats say what their sources say, exactly."""

import pytest

from pinloom import hardware
from pinloom.core.findings import has_fault
from pinloom.core.hardware import BandedDrivers, CoreKind, HardwareFormat, Provenance, Stop
from pinloom.core.lengths import from_inch


def load(name: str) -> HardwareFormat:
    """One shipped format."""
    read = hardware.load_format(name)
    assert read.format is not None
    return read.format


def test_every_format_of_the_table_ships() -> None:
    """All formats of the table are there, in natural order."""
    assert hardware.shipped() == (
        "ic-6x6-021",
        "ic-6x7-018",
        "ic-6x10-0125",
        "ic-7x6-021",
        "ic-7x7-018",
        "ic-7x10-0125",
        "us-5x6-023",
        "us-5x10-015",
        "us-5x10-015b",
        "us-6x6-023",
        "us-6x6-028",
        "us-6x10-014a",
        "us-6x10-015",
        "us-6x10-020",
    )


# Sources are named in the format files. (format, first root, last root, first pin, step, spacing,
# first cut, MACS, least step)
@pytest.mark.parametrize(
    ("name", "roots", "pins", "step", "spacing", "first_cut", "macs", "least"),
    [
        ("us-5x6-023", (".329", ".214"), (".172", ".287"), ".023", ".150", ".247", 4, 1),
        ("us-6x6-023", (".329", ".214"), (".172", ".287"), ".023", ".150", ".097", 4, 1),
        ("us-6x10-015", (".335", ".200"), (".165", ".300"), ".015", ".1562", ".231", 7, 2),
        ("us-5x10-015", (".335", ".200"), (".165", ".300"), ".015", ".1562", ".231", 7, 2),
        ("us-5x10-015b", (".320", ".185"), (".165", ".300"), ".015", ".155", ".216", 7, 2),
        ("us-6x10-014a", (".312", ".186"), (".178", ".304"), ".014", ".155", ".265", 7, 2),
        ("us-6x6-028", (".339", ".199"), (".165", ".305"), ".028", ".156", ".250", 4, 1),
        ("us-6x10-020", (".328", ".148"), (".170", ".350"), ".020", ".156", ".216", 7, 2),
        ("ic-7x10-0125", (".318", ".2055"), (".110", ".2225"), ".0125", ".150", ".080", 9, 2),
        ("ic-6x7-018", (".318", ".210"), (".110", ".218"), ".018", ".150", ".080", 6, 1),
        ("ic-7x6-021", (".318", ".213"), (".110", ".215"), ".021", ".150", ".080", 5, 1),
    ],
)
def test_numbers_are_the_published_ones(
    name: str,
    roots: tuple[str, str],
    pins: tuple[str, str],
    step: str,
    spacing: str,
    first_cut: str,
    macs: int,
    least: int,
) -> None:
    """First and last of each list, step, places and limits, to the nanometre."""
    made = load(name)
    first, last = made.depths[0], made.depths[-1]
    assert (first.root, last.root) == tuple(map(from_inch, roots))
    assert (first.bottom_pin, last.bottom_pin) == tuple(map(from_inch, pins))
    assert made.step == from_inch(step)
    assert made.spacing == from_inch(spacing)
    assert made.first_cut == from_inch(first_cut)
    assert (made.macs, made.least_step) == (macs, least)


def test_names_are_geometry() -> None:
    """The name of every format agrees with its chambers, depths and step."""
    for name in hardware.shipped():
        made = load(name)
        chambers, rest = name.split("-", 1)[1].split("x")
        depths, step = rest.split("-")
        assert (made.name, made.chambers, made.levels) == (name, int(chambers), int(depths))
        assert made.step == from_inch("0." + step.rstrip("ab"))


def test_every_number_has_a_source() -> None:
    """No shipped number falls back to 'no source given', and every source is a text."""
    for name in hardware.shipped():
        for origin in load(name).origins:
            assert origin.source.strip(), (name, origin)
            assert origin.source != "no source given", (name, origin)


def test_formats_with_memory_numbers_warn() -> None:
    """The caution comes exactly where a number is from memory, and names it."""
    for name in hardware.shipped():
        read = hardware.load_format(name)
        assert read.format is not None
        assert not has_fault(read.findings)
        warned = [f for f in read.findings if f.code == "hardware-from-memory"]
        assert bool(warned) == bool(read.format.from_memory()) != hardware.confirmed(read.format)
    assert load("us-6x6-028").from_memory() == ()
    assert "depths.pins" in load("us-6x10-015").from_memory()


def test_roots_of_one_list_may_have_two_origins() -> None:
    """us-6x10-020: depths 1 to 7 were read, 8 to 10 are derived."""
    found = {origin.field: origin.provenance for origin in load("us-6x10-020").origins}
    assert found["depths.roots 1-7"] is Provenance.PUBLISHED
    assert found["depths.roots 8-10"] is Provenance.DERIVED


def test_the_tenth_depth_may_be_stamped_nought() -> None:
    """us-6x10-020 stamps ten as 0 and files it as 10."""
    made = load("us-6x10-020")
    assert made.depths[9].number == 10
    assert made.stamp((0, 9, 4, 3, 2, 1)) == "105432"
    assert made.read_cuts("105432") == (0, 9, 4, 3, 2, 1)


def test_one_family_puts_the_sixth_chamber_at_the_bow() -> None:
    """The five chambers of us-5x6-023 are the last five of us-6x6-023."""
    five, six = load("us-5x6-023"), load("us-6x6-023")
    assert six.positions()[1:] == five.positions()
    longer, shorter = load("us-6x10-015"), load("us-5x10-015")
    assert longer.positions()[:5] == shorter.positions()


def test_core_formats() -> None:
    """Offsets and stacks of the three arithmetics; keys are read from the tip where they stop."""
    # *5402 Series Technical Manual*, s. 3-17, 3-20; the middle one is from memory.
    for name, offset, total in (
        ("ic-7x10-0125", 10, 23),
        ("ic-7x7-018", 7, 16),
        ("ic-7x6-021", 6, 14),
    ):
        made = load(name)
        assert made.core is not None
        assert made.core.kind is CoreKind.SMALL
        assert (made.core.offset, made.core.stack_total) == (offset, total)
        assert made.core.control_chambers == tuple(range(7))
        assert made.stop is Stop.TIP
        assert made.positions()[0] == from_inch("0.080")


def test_macs_formula_only_warns() -> None:
    """0.1252 / (0.015 x tan 50 deg) = 7.003, so the formula agrees with the published 7."""
    assert hardware.macs_by_formula(load("us-6x10-015")) == 7
    assert hardware.macs_by_formula(load("us-6x6-028")) is None


@pytest.mark.published
def test_driver_sizes_by_stack_total() -> None:
    """P-4: three driver sizes for totals 0-3, 4-6, 7-9 in a 0.015 in system; one in 0.023 in."""
    # Knowledge base solution 134888, kc.allegion.com; rekeying booklet, studylib.net 25672862.
    drivers = load("us-6x10-015").drivers
    assert isinstance(drivers, BandedDrivers)
    assert [(band.low, band.high) for band in drivers.bands] == [(0, 3), (4, 6), (7, 9)]
    one = load("us-5x6-023").drivers
    assert isinstance(one, BandedDrivers)
    assert [(band.low, band.high, band.length) for band in one.bands] == [(1, 6, from_inch(".180"))]


@pytest.mark.published
def test_smallest_increment_rule() -> None:
    """P-5: below about 0.023 in two steps; the one-step cores are the exceptions, and warn."""
    # *Keynotes*, comparison figure.
    for name in hardware.shipped():
        made = load(name)
        codes = {finding.code for finding in hardware.load_format(name).findings}
        one_step_core = made.core is not None and made.levels < 10
        if made.step < from_inch("0.023") and not one_step_core:
            assert made.least_step == 2
            assert min(made.master_pins) * made.step >= from_inch("0.023")
        assert ("hardware-slim-pin" in codes) == one_step_core
