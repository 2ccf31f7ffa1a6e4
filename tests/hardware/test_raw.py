"""Values of a format file: the quick reading and the strict models agree on what is sound."""

import random
from importlib.resources import files

import pytest

from pinloom.core.findings import Place, has_fault
from pinloom.hardware import read_format, shipped
from pinloom.hardware.raw import RawTable, parse_toml, read_tables
from pinloom.hardware.rawfaults import faults_of

VALUES: list[object] = [
    3,
    -1,
    True,
    "x",
    "0.015",
    "inch",
    "published",
    1.5,
    None,
    [],
    [1],
    ["0.1", 2],
]
VALUES += [[[1]], {}, {"a": 1}, [{"label": 1}], [{"label": "a", "low": 1, "high": 2}], {"kind": 3}]


def _tables(name: str) -> RawTable:
    text = files("pinloom.hardware").joinpath("formats", f"{name}.toml").read_text("utf-8")
    tables, _ = parse_toml(text, Place())
    assert tables is not None
    return tables


def test_a_sound_file_needs_no_models() -> None:
    """Every shipped format is read in one pass, and the strict models have nothing against it."""
    for name in shipped():
        assert read_tables(_tables(name), Place()).findings == ()
        assert faults_of(_tables(name)) == ()


def test_whatever_a_field_holds_is_read_or_told() -> None:
    """A value of any type in any field: where the models find faults each is a finding, and what is
    left is read; where they find none, the value was taken.
    """
    rng = random.Random(1)
    refused = taken = 0
    for _ in range(600):
        tables = _tables(rng.choice(shipped()))
        field = rng.choice([*tables, "nonsense"])
        inner = tables.get(field)
        target = inner if isinstance(inner, dict) and rng.random() < 0.7 else tables
        target[field if target is tables else rng.choice(list(target))] = rng.choice(VALUES)
        read, faults = read_tables(tables, Place()), faults_of(tables)
        assert len(read.findings) == len(faults)
        refused, taken = refused + bool(faults), taken + (not faults)
    assert refused > 100
    assert taken > 20


@pytest.mark.parametrize("line", ["unit = [1]", "unit = {a = 1}"])
def test_a_unit_of_another_type_is_a_fault(line: str) -> None:
    """Not a crash, although a table cannot be looked up."""
    read = read_format(f'based_on = "us-5x6-023"\nname = "own"\n{line}\n')
    assert read.format is None
    assert has_fault(read.findings)
    assert "hardware-bad-value" in {one.code for one in read.findings}
