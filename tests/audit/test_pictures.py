"""The pictures say what the audit says, hold any name, and read without colour."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from pinloom.audit import Audit, audit, census_svg, exposure_svg, margin_map, margins_svg
from pinloom.audit.margins import MOST, CellKind
from pinloom.audit.pictures import STRIP_DOORS, census_bins, compact
from pinloom.core.chart import AccessChart, Blank, Door, Key
from pinloom.core.job import Job
from tests.audit.jobs import chart_of, job_of, k1_job
from tests.proof.formats import tiny
from tests.proof.jobs import K1_PRINTED

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<b onload="x">&amp; "Loft" \x07'


def _pictures(job: Job, made: Audit) -> list[str]:
    census = census_svg(made)
    assert census is not None
    return [census, exposure_svg(made), margins_svg(job.name, margin_map(job, made))]


def _texts(picture: str) -> list[str]:
    return [one.text or "" for one in ET.fromstring(picture).iter(f"{SVG}text")]


def test_names_are_text_and_nothing_else() -> None:
    """Names with markup and control signs leave well-formed pictures without elements of theirs."""
    chart = AccessChart.build(
        [Door(name=HOSTILE), Door(name="</text></svg>")],
        [Key(name="<script>"), Key(name="k")],
        {HOSTILE: ["k"], "</text></svg>": ["k", "<script>"]},
    )
    job = replace(job_of(chart, tiny(), [(0, 1, 2), (3, 1, 2)]), name="<i>&")
    made = audit(job)
    for picture in _pictures(job, made):
        tags = {one.tag.removeprefix(SVG) for one in ET.fromstring(picture).iter()}
        assert not tags & {"script", "b", "i"}
        assert "\x07" not in picture


def test_pictures_are_black_white_and_grey() -> None:
    """No colour is used, so a copier loses nothing."""
    job = k1_job(K1_PRINTED)
    for picture in _pictures(job, audit(job)):
        colours = set(re.findall(r"#[0-9a-fA-F]{3,6}", picture))
        assert colours
        assert colours <= {"#000", "#fff", "#999"}
        assert "rgb" not in picture


def test_same_audit_same_bytes() -> None:
    """A picture depends on the audit alone."""
    job = k1_job(K1_PRINTED)
    assert _pictures(job, audit(job)) == _pictures(job, audit(job))


def test_census_bars_are_the_census() -> None:
    """Every key is in one place, and each place with keys has its number written above its bar."""
    made = audit(k1_job(K1_PRINTED))
    exact, tolerant, picture = made.exact, made.tolerant, census_svg(made)
    assert exact is not None
    assert tolerant is not None
    assert picture is not None
    bins = census_bins(exact, tolerant)
    assert [one.label for one in bins] == [str(doors) for doors in range(9)]
    assert sum(one.exact for one in bins) == exact.keys
    assert sum(one.tolerant for one in bins) == tolerant.keys
    texts = _texts(picture)
    assert all(compact(one.tolerant) in texts for one in bins if one.tolerant)
    assert f"test: {tolerant.opening:,} of {tolerant.keys:,} keys" in " ".join(texts)


def test_large_systems_are_grouped_by_doubling() -> None:
    """Beyond twenty doors the places double, without a gap and without losing a key."""
    made = audit(k1_job(K1_PRINTED))
    assert made.exact is not None
    wide = replace(made.exact, opens=((0, 5), (1, 4), (7, 3), (64, 2), (300, 1)))
    bins = census_bins(wide, wide)
    labels = [one.label for one in bins]
    assert labels == "0 1 2 3 4–7 8–15 16–31 32–63 64–127 128–255 256–300".split()
    assert [one.exact for one in bins] == [5, 4, 0, 0, 3, 0, 0, 0, 2, 0, 1]


@pytest.mark.parametrize(
    ("number", "text"),
    [(0, "0"), (999, "999"), (1000, "1.0k"), (9_992, "9.9k"), (56_000, "56k"), (1_250_000, "1.2M")],
)
def test_compact_numbers_never_round_up(number: int, text: str) -> None:
    """Counts above a bar are cut off, so a picture never says more than there is."""
    assert compact(number) == text


def test_map_tells_every_kind_of_cell() -> None:
    """Opening, wrong, weak, refused and not entering, each where the chart has it."""
    chart = AccessChart.build(
        [Door(name="A1", keyway="A"), Door(name="B1", keyway="B")],
        [Key(name="far"), Key(name="near"), Key(name="owner", blank="narrow"), Key(name="same")],
        {"A1": ["owner"], "B1": ["far"]},
        [Blank(name="narrow", enters=("A",))],
    )
    job = job_of(chart, tiny(), [(3, 3, 3), (0, 0, 1), (0, 0, 0), (0, 0, 0)])
    shown = margin_map(job, audit(job))
    kinds = [[cell.kind for cell in row] for row in shown.cells]
    assert kinds == [
        [CellKind.REFUSED, CellKind.WEAK, CellKind.OPENS, CellKind.WRONG],
        [CellKind.OPENS, CellKind.REFUSED, CellKind.NO_ENTRY, CellKind.REFUSED],
    ]
    assert (shown.cells[0][0].chambers, shown.cells[0][0].steps) == (3, 3)
    assert not shown.left_out


def test_large_jobs_show_their_weakest_part() -> None:
    """Too many doors and keys: the map and the strip take what matters most, and say so."""
    count = 130
    opens = {f"d{i}": f"k{i}" for i in range(count)}
    opens["d129"] = "k129 TMK"
    chart = chart_of(opens)
    cuts = {
        key.name: (i % 5, i // 5 % 5, i // 25 % 5, i // 125) for i, key in enumerate(chart.keys)
    }
    job = job_of(chart, tiny(4, 5), [cuts[key.name] for key in chart.keys])
    made = audit(job)
    assert made.masters == ()  # TMK opens one door only, as its lesser key does
    shown = margin_map(job, made)
    assert (len(shown.doors), len(shown.keys)) == (MOST, MOST)
    assert shown.left_out
    assert "not all keys and doors are shown" in margins_svg("x", shown)
    strip = exposure_svg(made)
    assert f"{STRIP_DOORS} of {count} doors" in strip
    weakest = {(one.door, one.key) for one in made.neighbours.weakest}
    on_map = {(door, key) for door in shown.doors for key in shown.keys}
    assert weakest <= on_map
