"""The audit's page: its figures are the audit's, and no cut is shown."""

import re
import xml.etree.ElementTree as ET

import pytest

from pinloom.audit import audit
from pinloom.core.job import Job
from pinloom.workflow.folder import load
from tests.web.kit import Visit


@pytest.fixture
def job(inside: Visit) -> Job:
    """The published chart with its printed cuts, faults and all."""
    found = load(inside.jobs / "faulty").job
    assert found is not None
    return found


def _row(page: str, door: str) -> list[str]:
    """The figures of one door in the table door by door."""
    table = page.split("Door by door</h2>")[1]
    row = re.search(rf"<tr><th[^>]*><a[^>]*>{door}</a></th>(.*?)</tr>", table, re.DOTALL)
    assert row is not None
    return re.findall(r">([^<]+)</td>", row[1])


@pytest.mark.published
def test_counts_are_the_published_ones(inside: Visit) -> None:
    """*Keynotes*, February 2022, p. 36: exact combinations 8, 1, 2, 4, 4, 1, 8, 1."""
    page = inside.get("/job/faulty/audit").text
    doors = ("101", "102", "103", "104A", "104B", "105", "106", "107")
    assert [_row(page, door)[1] for door in doors] == ["8", "1", "2", "4", "4", "1", "8", "1"]
    assert "Not proved." in page


def test_figures_are_the_audits_own(inside: Visit, job: Job) -> None:
    """Sums and margins on the page are those of the audit of the same job."""
    made = audit(job)
    page = inside.get("/job/faulty/audit").text
    figures = dict(re.findall(r'<div class="figure"><dt>([^<]+)</dt><dd>([^<]+)</dd>', page))
    assert figures["combinations nobody ordered, all doors together"] == f"{made.incidental:,}"
    assert made.tolerant is not None
    assert f"{made.tolerant.opening:,}" in figures.values()
    for one in made.masters:
        assert f'<th scope="row">{one.key}</th>' in page


def test_no_cut_is_on_the_page(inside: Visit, job: Job) -> None:
    """Neither the job's own cuts nor those of the strongest key that nobody ordered."""
    pages = [inside.get("/job/faulty/audit").text]
    pages += [
        inside.get(f"/job/faulty/audit/{name}.svg").text
        for name in ("census", "exposure", "margins")
    ]
    secrets = [job.key_format.stamp(levels) for levels in job.bittings]
    for census in audit(job).census:
        secrets += [job.key_format.stamp(one.levels) for one in census.strongest]
    assert len(secrets) > 4
    for text in pages:
        assert not [one for one in secrets if one in text]


def test_pictures_are_drawings(inside: Visit) -> None:
    """Each is well-formed SVG under a policy that lets it load nothing; others are not there."""
    for name in ("census", "exposure", "margins"):
        answer = inside.get(f"/job/office/audit/{name}.svg")
        assert answer.headers["content-type"] == "image/svg+xml"
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert "script" not in answer.headers["content-security-policy"]
        assert ET.fromstring(answer.text).tag.endswith("svg")
    assert inside.get("/job/office/audit/other.svg").status == 404
    assert inside.get("/job/office/audit/..%2fjob.json").status == 404
