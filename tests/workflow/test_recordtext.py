"""Records are written as the library that reads them would write them, byte for byte."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from pydantic import TypeAdapter

from pinloom.core.chart import KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Claim, ClaimKind, FaultKind, Job, Layout, LayoutLevel, ProofFault
from pinloom.core.stacks import PinStack
from pinloom.hardware import load_format, shipped
from pinloom.workflow import jobfile
from pinloom.workflow.recordtext import Writer
from tests.workflow.tiny import tiny_job

ODD = 'Loft "7"\\ é 棟\u2028\x7f\t\x01'  # signs that JSON must escape, and some that it must not


@cache
def _library() -> TypeAdapter[Job]:
    return TypeAdapter(Job)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """A small designed job."""
    work: Path = tmp_path_factory.mktemp("tiny")
    return tiny_job(work / "job", work)


def _odd(job: Job) -> Job:
    """The job with a value of every kind that its records may hold."""
    chart = replace(
        job.chart,
        keys=tuple(
            replace(key, name=ODD + key.name, copies=copies, standing=standing, note=ODD)
            for key, copies, standing in zip(
                job.chart.keys,
                (None, 0, 1, 70_000),
                (*KeyStanding, KeyStanding.ACTIVE),
                strict=True,
            )
        ),
    )
    fault = ProofFault(kind=FaultKind.OPENS, key=ODD, door="Loft 1", detail=ODD)
    claims = tuple(Claim(measure=ODD, value=-1, kind=kind) for kind in ClaimKind)
    layout = Layout(
        master=(0, 1), levels=(LayoutLevel(name="", chambers=(), levels=((),)),), note=ODD
    )
    proof = replace(job.proof, faults=(fault,), tightest=None)
    return replace(job, name=ODD, chart=chart, proof=proof, claims=claims, layout=layout)


def test_a_job_is_written_as_the_library_writes_it(job: Job) -> None:
    """Plain and odd jobs, with and without records that are kept."""
    for one in (job, _odd(job)):
        wanted = _library().dump_json(one).decode()
        assert Writer().text(one) == wanted
        assert Writer(shared=(PinStack, HardwareFormat)).text(one) == wanted
    assert '"layout":null' in Writer().text(replace(job, layout=None))


def test_every_shipped_format_is_written_as_the_library_writes_it() -> None:
    """Formats have records of their own for drivers, cores and sizes."""
    library = TypeAdapter(HardwareFormat)
    for name in shipped():
        made = load_format(name).format
        assert made is not None
        assert Writer().text(made) == library.dump_json(made).decode()


def test_fields_are_left_out_by_class(job: Job) -> None:
    """As the library leaves them out, at any depth."""
    wanted = _library().dump_json(job, exclude={"kept": True, "pinning": {"__all__": {"door"}}})
    left_out = [(Job, "kept"), (type(job.pinning[0]), "door")]
    assert Writer(left_out).text(job) == wanted.decode()


def test_what_was_written_is_read_again(job: Job) -> None:
    """An odd job comes back whole, and is known as untouched."""
    data = jobfile.encode(_odd(job))
    record = jobfile.decode(data)
    assert record is not None
    assert record.job == _odd(job)
    assert jobfile.is_untouched(record, data)


def test_what_no_record_holds_is_refused() -> None:
    """A number with a point, or a table, would be written in more than one way."""
    for value in (1.5, {"a": 1}, [1], {1}):
        with pytest.raises(TypeError):
            Writer().text(value)
