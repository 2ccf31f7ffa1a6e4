"""The remedy "another format": told when the whole chart was designed on it, and only then."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from bench.charts import clique
from pinloom.chart import write_matrix
from pinloom.cli import run
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.request import Designed, DesignRequest, ProvedImpossible
from pinloom.design import design
from pinloom.hardware import load_format
from tests.oracle.brute import Tiny, TinyLock
from tests.oracle.charts import PLAIN, tiny_format
from tests.oracle.plain import solve_plain

FORMATS = ("us-6x10-014a", "us-6x10-015", "us-6x10-020", "us-6x6-023", "us-6x6-028")


def request_on(
    chart: AccessChart, made: HardwareFormat, others: tuple[HardwareFormat, ...]
) -> DesignRequest:
    """A chart on a format, with formats that may be had instead."""
    return DesignRequest(
        chart=chart,
        key_format=made,
        cylinder_formats=(made,) * len(chart.doors),
        fixed=(None,) * len(chart.keys),
        rules=PLAIN,
        alternatives=others,
    )


def told_formats(outcome: object) -> list[str]:
    """Formats that a refusal names as remedies."""
    assert isinstance(outcome, ProvedImpossible)
    found = [r for r in outcome.remedies if r.change == "remedy-another-format"]
    assert all(remedy.verified for remedy in found)
    return [dict(remedy.values)["format"] for remedy in found]


def clique_on(count: int, made: HardwareFormat) -> Tiny:
    """Keys that each open all doors but one, for the second encoding."""
    active = tuple(range(made.chambers))
    return Tiny(
        positions=made.chambers,
        levels=made.levels,
        macs=made.macs,
        least_step=made.least_step,
        pins=frozenset(made.master_pins),
        most_masters=made.max_masters,
        keys=count,
        locks=tuple(
            TinyLock(openers=tuple(k for k in range(count) if k != d), active=active)
            for d in range(count)
        ),
        given=(None,) * count,
    )


def test_only_formats_on_which_it_was_designed_are_told() -> None:
    """Seven keys that each open all doors but one want seven cuts of their own: two chambers of
    four depths have six, three have nine, two of five depths eight, and three of three depths six.
    The second encoding agrees with each.
    """
    chart, made = clique(7).chart(), tiny_format(2, 4)
    others = (tiny_format(3, 3), tiny_format(3, 4), tiny_format(2, 5))
    outcome = design(request_on(chart, made, others))
    assert told_formats(outcome) == ["lab-3x4", "lab-2x5"]
    for other in (made, *others):
        fits = other.name in ("lab-3x4", "lab-2x5")
        assert (solve_plain(clique_on(7, other)) is not None) == fits


def test_cuts_already_given_bind_the_job_to_its_format() -> None:
    """With a key cut already, no other format is offered."""
    request = request_on(clique(7).chart(), tiny_format(2, 4), (tiny_format(3, 4),))
    given = replace(request, fixed=((0, 1), *request.fixed[1:]))
    assert told_formats(design(given)) == []


def test_the_command_tries_shipped_formats(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Five chambers of five separable depths hold 20 keys that each open all doors but one; 21 are
    refused by that theorem without a step of search, and none of these keys or doors can be spared.
    A shipped format of six chambers is told, and it does hold them.
    """
    write_matrix(clique(21).chart(), tmp_path / "chart.csv")
    asked = ["design", str(tmp_path / "chart.csv"), "--hardware", "us-5x10-015"]
    assert run([*asked, "--out", str(tmp_path / "job"), "--json"]) == 3
    told = json.loads(capsys.readouterr().out)
    assert told["reason"]["code"] == "design-crossed-keys"
    assert (told["steps"], told["minimal"]) == (0, True)
    texts = [r["text"] for r in told["remedies"] if r["verified"]]
    named = [name for name in FORMATS if any(f"Use hardware {name}" in text for text in texts)]
    assert named
    for name in named:
        made = load_format(name).format
        assert made is not None
        assert made.chambers == 6
        assert isinstance(design(request_on(clique(21).chart(), made, ())), Designed)
