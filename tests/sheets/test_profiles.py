"""True-scale outlines, the hierarchy drawing and the test sheet."""

from pathlib import Path

import pytest

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.fitting import chamber_positions
from pinloom.hardware import load_format
from pinloom.sheets import to_svg
from pinloom.sheets.profiles import profile_scenes
from pinloom.sheets.tree import nodes, tree_scenes
from pinloom.sheets.trial import Trial
from tests.sheets.drawing import roles
from tests.workflow.kit import pinned


def test_bars_are_true_to_the_drawing() -> None:
    """The bars measure 50 mm and 2 in (50.8 mm) on a drawing whose unit is the millimetre."""
    made = load_format("us-5x6-023").format
    assert made is not None
    (scene,) = profile_scenes(made, [("AA1", (0, 1, 2, 3, 4))])
    svg = to_svg(scene)
    drawn = [
        max(x for x, _ in b.points) - min(x for x, _ in b.points) for b in roles(svg, "scale-bar")
    ]
    assert drawn == pytest.approx([50, 50.8])
    assert f'width="{scene.width:g}mm"' in svg


@pytest.mark.published
def test_drawn_outline_has_published_roots_at_published_places() -> None:
    """us-5x6-023, cuts 1 2 3 4 5: roots .329 .306 .283 .260 .237 at .247 + .150 n from the
    shoulder (lockwiki.com keying specification table), read from the drawing to 0.0001 in.
    """
    made = load_format("us-5x6-023").format
    assert made is not None
    (scene,) = profile_scenes(made, [("AA1", (0, 1, 2, 3, 4))])
    (key,) = roles(to_svg(scene), "key")
    left = key.points[0][0]
    for n, root in enumerate((0.329, 0.306, 0.283, 0.260, 0.237)):
        place = (0.247 + 0.150 * n) * 25.4
        low = [15 + 16 - y for x, y in key.points if abs(x - left - place) < 0.45]
        assert min(low) == pytest.approx(root * 25.4, abs=0.00254)


def test_many_keys_take_many_pages() -> None:
    """Forty keys: three pages, every key once."""
    made = load_format("us-5x6-023").format
    assert made is not None
    scenes = list(profile_scenes(made, [(f"K{n}", (0, 1, 2, 3, 4)) for n in range(40)]))
    drawn = [key.data["key"] for scene in scenes for key in roles(to_svg(scene), "key")]
    assert len(scenes) == 3
    assert drawn == [f"K{n}" for n in range(40)]


def test_tree_puts_each_key_under_the_narrowest_that_holds_it() -> None:
    """TOP over AA over AA1, and a cleaner's key across: it hangs under TOP alone."""
    chart = AccessChart.build(
        doors=[Door(name=name) for name in ("1", "2", "3")],
        keys=[Key(name=name) for name in ("TOP", "AA", "AA1", "cleaner")],
        opens={"1": ["TOP", "AA", "AA1"], "2": ["TOP", "AA", "cleaner"], "3": ["TOP", "cleaner"]},
    )
    names = [key.name for key in chart.keys]
    parents = {names[n.key]: None if n.parent is None else names[n.parent] for n in nodes(chart)}
    assert parents == {"TOP": None, "AA": "TOP", "AA1": "AA", "cleaner": "TOP"}
    (scene,) = tree_scenes(chart)
    assert len(roles(to_svg(scene), "branch")) == 3


def test_trial_keys_use_every_joint(tmp_path: Path) -> None:
    """At every door the keys to try meet every joint that the openers meet; those to refuse are
    no openers, and no other refused key is held by fewer chambers.
    """
    job = pinned(tmp_path).job
    assert job is not None
    trial = Trial(job)
    for door, openers in enumerate(job.chart.openers):
        meets = chamber_positions(job.key_format, job.format_of(door))
        assert meets is not None
        tried = trial.must_open(door)
        for position in meets:
            wanted = {job.bittings[k][position] for k in openers}
            assert {job.bittings[k][position] for k in tried} == wanted
        held, _ = trial.refusals(door)
        near = trial.nearest(door)
        shut = set(range(len(job.chart.keys))) - set(openers)
        assert set(near) <= shut
        if near:
            assert held[near[0]] == min(held[k] for k in shut) > 0
        assert all(held[k] == 0 for k in openers)
