"""The live verdict: the three honest answers, and the question asked last."""

import json
import time
from pathlib import Path

import pytest

from pinloom.core.chart import AccessChart
from pinloom.core.job import Job
from pinloom.workflow.edits import applied, read_edits
from pinloom.workflow.live import Answer, Look, Looker, look_at
from pinloom.workflow.making import MakeOrder, make_next
from pinloom.workflow.wanted import print_of
from tests.workflow.kit import MENDED_BITTINGS, job_of, pinned
from tests.workflow.tiny import tiny_job


def _edited(chart: AccessChart, *edits: dict[str, object]) -> AccessChart:
    read = read_edits(json.dumps(edits))
    assert read is not None
    changed, found = applied(chart, read)
    assert found == ()
    assert changed is not None
    return changed


def _more_keys(chart: AccessChart, names: str) -> AccessChart:
    """A door more for each name, opened by its own key and by the master."""
    for name in names:
        chart = _edited(
            chart,
            {"do": "key", "name": name},
            {"do": "door", "name": f"Loft {name}"},
            {"do": "mark", "door": f"Loft {name}", "key": name, "on": True},
            {"do": "mark", "door": f"Loft {name}", "key": "T", "on": True},
        )
    return chart


def _looks(job: Job, chart: AccessChart) -> list[Look]:
    looks: list[Look] = []
    look_at(job, chart, lambda: None, looks.append)
    return looks


@pytest.fixture(scope="module")
def tiny(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The tiny job."""
    work = tmp_path_factory.mktemp("tiny")
    return tiny_job(work / "job", work)


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The published chart, mended."""
    return job_of(pinned(tmp_path_factory.mktemp("office"), MENDED_BITTINGS))


def test_the_jobs_own_chart_is_possible_as_it_is(office: Job) -> None:
    """The present cuts do, no door is re-pinned, and the verdict comes with pins and a margin."""
    last = _looks(office, office.chart)[-1]
    assert last.answer is Answer.POSSIBLE
    assert last.final
    assert (last.kept, last.repinned) == (True, 0)
    assert last.master_pins > 0
    assert last.tightest is not None


def test_a_changed_mark_tells_whether_the_cuts_do(office: Job) -> None:
    """Quality shall open 103 as well: another pinning of that door alone, or new cuts; what is said
    of the present cuts is what the proof says of them.
    """
    chart = _edited(office.chart, {"do": "mark", "door": "103", "key": "quality", "on": True})
    first = _looks(office, chart)[0]
    assert first.answer is Answer.LOOKING
    assert first.kept is not None
    assert first.repinned == 1


def test_five_change_keys_are_impossible(tiny: Job) -> None:
    """Counting: two levels in each of two chambers are four change keys. The refusal names doors
    and keys of the chart and comes before what would help; what helps was tried.
    """
    chart = _more_keys(tiny.chart, "DE")
    looks = _looks(tiny, chart)
    refusals = [look for look in looks if look.answer is Answer.IMPOSSIBLE]
    assert [look.final for look in refusals] == [False, True]
    last = refusals[-1]
    assert last.reason is not None
    assert set(last.doors) <= {door.name for door in chart.doors}
    assert set(last.keys) <= {key.name for key in chart.keys}
    assert last.doors
    assert any(one.change == "remedy-one-more-chamber" for one in last.remedies)
    assert last.kept is None


def test_the_looker_answers_the_last_question(tiny: Job, office: Job) -> None:
    """Questions in quick succession: the last one is answered, and an answer is given again without
    a new search.
    """
    looker = Looker()
    charts = [_more_keys(tiny.chart, "DE"), _more_keys(tiny.chart, "D"), tiny.chart]
    for chart in charts:
        look = looker.ask(tiny, chart, print_of(chart), 0.0)
    deadline = time.monotonic() + 30
    while not look.final and time.monotonic() < deadline:
        look = looker.ask(tiny, tiny.chart, print_of(tiny.chart), 0.5)
    assert look.final
    assert look.answer is Answer.POSSIBLE
    start = time.monotonic()
    assert looker.ask(tiny, tiny.chart, print_of(tiny.chart), 5.0) == look
    assert time.monotonic() - start < 1
    looker.forget()


def test_an_older_search_ends_at_a_sign_of_life(tiny: Job) -> None:
    """Whoever no longer wants the answer ends the search where it stands."""

    class EnoughError(Exception):
        """Nobody asks any more."""

    signs = 0

    def alive() -> None:
        nonlocal signs
        signs += 1
        if signs > 2:
            raise EnoughError

    with pytest.raises(EnoughError):
        look_at(tiny, _more_keys(tiny.chart, "DE"), alive, lambda _: None)


# --- making it so ---------------------------------------------------------------------------------


def test_growth_keeps_every_cut(tmp_path: Path) -> None:
    """A mark more, keys kept: the next revision is proved, in the same folder, with the same cuts
    and the hardware of the job, and the changes name the door.
    """
    job = tiny_job(tmp_path / "job", tmp_path)
    chart = _edited(job.chart, {"do": "mark", "door": "Loft 1", "key": "B", "on": True})
    made = make_next(MakeOrder(folder=tmp_path / "job", job=job, chart=chart, anew=False))
    assert made.job is not None
    assert made.job.proof.proved
    assert made.job.revision == 2
    assert made.job.bittings == job.bittings
    assert made.job.key_format == job.key_format
    assert made.job.chart == chart
    assert [change.name for change in made.changes] == ["Loft 1"]


def test_all_keys_anew(tmp_path: Path) -> None:
    """A key and a door more, everything cut anew: proved, under the job's name, on its hardware."""
    job = tiny_job(tmp_path / "job", tmp_path)
    chart = _edited(
        job.chart, {"do": "drop-door", "name": "Loft 3"}, {"do": "drop-key", "name": "C"}
    )
    made = make_next(MakeOrder(folder=tmp_path / "job", job=job, chart=chart, anew=True))
    assert made.job is not None
    assert made.job.proof.proved
    assert (made.job.name, made.job.revision) == ("Tiny", 2)
    assert made.job.chart == chart


def test_what_is_impossible_is_not_made(tmp_path: Path) -> None:
    """Five change keys: nothing is written, and the reason is there."""
    job = tiny_job(tmp_path / "job", tmp_path)
    before = (tmp_path / "job" / "job.json").read_bytes()
    chart = _more_keys(job.chart, "DE")
    made = make_next(MakeOrder(folder=tmp_path / "job", job=job, chart=chart, anew=True))
    assert made.job is None
    assert made.outcome is not None
    assert (tmp_path / "job" / "job.json").read_bytes() == before


def test_a_key_without_a_door_is_told(tmp_path: Path) -> None:
    """The checks of a file hold for an edited chart: a key that opens nothing must be reserved."""
    job = tiny_job(tmp_path / "job", tmp_path)
    chart = _edited(job.chart, {"do": "key", "name": "Z"})
    made = make_next(MakeOrder(folder=tmp_path / "job", job=job, chart=chart, anew=False))
    assert made.job is None
    assert [one.code for one in made.findings] == ["chart-key-idle"]
