"""The core records keep their promises."""

import pytest

from pinloom.core.bitting import keeps_macs
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.fingerprints import fingerprint
from pinloom.core.keyrules import KeyRules, breaches
from pinloom.core.lengths import InexactLengthError, from_inch, from_mm, in_inch, in_mm
from pinloom.core.names import clean, natural
from pinloom.core.stacks import PinStack


def test_lengths_convert_exactly() -> None:
    """0.0001 in is 2,540 nm and 0.001 mm is 1,000 nm; a length finer than 1 nm is refused."""
    assert from_inch("0.0001") == 2_540
    assert from_mm("0.001") == 1_000
    assert in_inch(from_inch("0.1562")) == "0.1562"
    assert in_mm(from_inch("0.0125"), 4) == "0.3175"
    with pytest.raises(InexactLengthError):
        from_inch("0.00000001")
    with pytest.raises(InexactLengthError):
        from_inch("about 0.1")
    with pytest.raises(InexactLengthError):
        from_mm("NaN")


def test_chart_is_canonical_whatever_the_order() -> None:
    """Shuffled rows and marks build the same chart, in natural order."""
    doors = [Door(name="Loft 10"), Door(name="Loft 9")]
    keys = [Key(name="B"), Key(name="A")]
    one = AccessChart.build(doors, keys, {"Loft 9": ["B", "A"], "Loft 10": ["B"]})
    two = AccessChart.build(doors[::-1], keys[::-1], {"Loft 10": ["B"], "Loft 9": ["A", "B"]})
    assert one == two
    assert [door.name for door in one.doors] == ["Loft 9", "Loft 10"]
    assert one.openers == ((0, 1), (1,))
    assert one.doors_of() == ((0,), (0, 1))


@pytest.mark.parametrize(
    ("doors", "keys", "opens"),
    [(["d", "d"], ["k"], {}), (["d"], ["k"], {"d": ["x"]}), (["d"], ["k"], {"e": ["k"]})],
)
def test_chart_refuses_nonsense(
    doors: list[str], keys: list[str], opens: dict[str, list[str]]
) -> None:
    """Duplicate and unknown names cannot become a chart."""
    with pytest.raises(ValueError, match=r"unique|unknown"):
        AccessChart.build([Door(name=d) for d in doors], [Key(name=k) for k in keys], opens)


def test_natural_order_and_clean_names() -> None:
    """Digit runs sort by value; names are NFC with single blanks."""
    assert sorted(["AA10", "AA9", "AA1"], key=natural) == ["AA1", "AA9", "AA10"]
    assert clean("  Loft \t 1 ") == "Loft 1"
    assert clean("e\u0301") == "\u00e9"


def test_macs_counts_neighbours() -> None:
    """Neighbouring cuts may differ by MACS and no more."""
    assert keeps_macs((0, 7, 0), 7)
    assert not keeps_macs((0, 8, 0), 7)


def test_stack_cuts_add_up() -> None:
    """The cuts of a stack are the running sums of its pins."""
    assert PinStack(bottom=3, masters=(2, 1)).cuts() == (3, 5, 6)


def test_key_rules_name_what_is_broken() -> None:
    """Each rule finds its own kind of key and only that."""
    rules = KeyRules()
    assert breaches((2, 2, 2, 2, 2), 6, True, rules) == [
        "not_all_equal",
        "neighbours_equal",
        "total_equal",
    ]
    assert breaches((0, 1, 2, 3, 1), 10, True, rules) == []
    assert breaches((0, 1, 2, 3, 4), 10, True, rules) == ["not_steady"]
    assert breaches((9, 1, 2, 1, 4), 10, True, rules) == ["not_deep_at_bow"]
    assert breaches((4, 1, 2, 1, 9), 10, False, rules) == ["not_deep_at_bow"]


def test_fingerprint_separates_parts() -> None:
    """Moving text between parts changes the fingerprint."""
    assert fingerprint(["ab", "c"]) != fingerprint(["a", "bc"])
