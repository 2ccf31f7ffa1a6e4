"""A key in a door, as the page tells it, against the job's own proof."""

from pathlib import Path

import pytest

from pinloom.core.job import FaultKind, Job
from pinloom.workflow.trying import (
    Cuts,
    Misread,
    State,
    Verdict,
    candidates,
    doors_for,
    keys_at,
    read_typed,
    try_key,
)
from tests.workflow.kit import KEYNOTES_BITTINGS, MENDED_BITTINGS, job_of, pinned


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The published chart with its printed bittings: three faults."""
    return job_of(pinned(tmp_path_factory.mktemp("faulty"), KEYNOTES_BITTINGS))


@pytest.mark.published
def test_lists_agree_with_the_proof(faulty: Job) -> None:
    """*Keynotes*, February 2022, p. 36: at every door and for every key the lists find exactly the
    three wrong openings that the proof finds, and they stand first.
    """
    proved = {(one.key, one.door) for one in faulty.proof.faults if one.kind is FaultKind.OPENS}
    assert len(proved) == 3
    by_door = {
        (met.name, door.name)
        for number, door in enumerate(faulty.chart.doors)
        for met in keys_at(faulty, number)
        if met.fault
    }
    by_key = {
        (one.name, met.name)
        for one in candidates(faulty)
        for met in doors_for(faulty, one.cuts)
        if met.fault
    }
    assert by_door == by_key == proved
    at = faulty.chart.door_index()["106"]
    assert keys_at(faulty, at)[0].name == "maintenance"


def test_one_trial_says_what_the_lists_say(faulty: Job) -> None:
    """Every key in every door: drawing, words and lists give one verdict, and the chambers named
    as holding are the same.
    """
    for number, door in enumerate(faulty.chart.doors):
        listed = {met.name: met for met in keys_at(faulty, number)}
        for one in candidates(faulty):
            tried = try_key(faulty, number, one.cuts)
            met = listed[one.name]
            assert (tried.door, tried.key) == (door.name, one.name)
            assert tried.verdict is met.verdict
            holding = tuple(p.number for p in tried.places if p.state is State.HELD)
            assert holding == met.held
            assert (" turns" in tried.words) == (met.verdict is Verdict.TURNS)
            assert tried.shall == met.shall


def test_the_key_lifts_the_pins(tmp_path: Path) -> None:
    """A shallower cut lifts its stack higher: the lifts of two keys differ by the steps between
    their cuts, three times as large as life.
    """
    job = job_of(pinned(tmp_path, MENDED_BITTINGS))
    door = job.chart.door_index()["101"]
    step = job.key_format.step / 1_000_000 * 3.0
    low = try_key(job, door, Cuts(levels=(5, 5, 5, 5, 5, 5)))
    high = try_key(job, door, Cuts(levels=(3, 5, 5, 5, 5, 5)))
    assert high.places[0].lift - low.places[0].lift == pytest.approx(2 * step, abs=0.01)
    assert high.places[1].lift == low.places[1].lift
    assert all(place.lift > 0 for place in low.places)


def test_typed_cuts_are_read_or_refused(faulty: Job) -> None:
    """Stamped texts in a row or apart are a key without a name; an open or a wrong cut is none."""
    typed = read_typed(faulty, "3 4 5 6 2 1")
    assert isinstance(typed, Cuts)
    assert typed.name == ""
    assert read_typed(faulty, "345621") == typed
    assert read_typed(faulty, "34562") is Misread.NOT_CUTS
    assert read_typed(faulty, "34562?") is Misread.OPEN
    tried = try_key(faulty, 0, typed)
    assert tried.shall is None


def test_cuts_beyond_macs_are_said(faulty: Job) -> None:
    """A key that the cutter cannot make can be looked at, and is told as such."""
    steep = try_key(faulty, 0, Cuts(levels=(0, 9, 0, 9, 0, 9)))
    assert not steep.cuttable
    assert try_key(faulty, 0, Cuts(levels=(3, 3, 3, 3, 3, 3))).cuttable
