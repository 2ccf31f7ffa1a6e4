"""The audit of a job folder: read, counted, compared, drawn."""

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from pinloom.workflow.audit import AuditOrder, audit_folder
from tests.workflow.kit import KEYNOTES_BITTINGS, KEYNOTES_CHART, codes, pinned


def test_a_folder_is_audited_as_it_stands(tmp_path: Path) -> None:
    """A faulty job is audited too, and its folder keeps every byte."""
    pinned(tmp_path, KEYNOTES_BITTINGS)
    before = {path.name: path.read_bytes() for path in (tmp_path / "job").iterdir()}
    result = audit_folder(AuditOrder(folder=tmp_path / "job"))
    assert result.audit is not None
    assert [one.exact for one in result.audit.doors] == [8, 1, 2, 4, 4, 1, 8, 1]
    assert len(result.audit.faults) == 3
    assert {path.name: path.read_bytes() for path in (tmp_path / "job").iterdir()} == before


def test_two_designs_side_by_side(tmp_path: Path) -> None:
    """The published bittings against the mended ones: 11 master pins and 8."""
    pinned(tmp_path, KEYNOTES_BITTINGS, out=tmp_path / "printed")
    pinned(tmp_path, out=tmp_path / "mended")
    order = AuditOrder(folder=tmp_path / "printed", beside=tmp_path / "mended")
    result = audit_folder(order)
    assert result.comparison is not None
    first = result.comparison.rows[0]
    assert (first.one, first.other, first.better) == (11, 8, 1)


def test_a_design_of_another_chart_is_refused(tmp_path: Path) -> None:
    """Other marks: no comparison, and no audit either, but a finding with its place."""
    pinned(tmp_path, out=tmp_path / "one")
    pinned(tmp_path, chart=KEYNOTES_CHART.replace("102,,x,,", "102,x,x,,"), out=tmp_path / "two")
    result = audit_folder(AuditOrder(folder=tmp_path / "one", beside=tmp_path / "two"))
    assert result.audit is None
    assert codes(result.findings) == ["audit-other-chart"]
    assert str(result.findings[0].place) == str(tmp_path / "two")


def test_pictures_are_private_and_well_formed(tmp_path: Path) -> None:
    """Three SVG files that only their owner can read."""
    pinned(tmp_path)
    out = tmp_path / "deep" / "pictures"
    result = audit_folder(AuditOrder(folder=tmp_path / "job", pictures=out))
    assert result.pictures == ("census.svg", "exposure.svg", "margins.svg")
    assert out.stat().st_mode & 0o777 == 0o700
    for name in result.pictures:
        assert (out / name).stat().st_mode & 0o777 == 0o600
        assert ET.parse(out / name).getroot().tag.endswith("svg")


def test_pictures_that_cannot_be_written_are_a_finding(tmp_path: Path) -> None:
    """A file in the place of the folder: the audit is given all the same."""
    pinned(tmp_path)
    (tmp_path / "taken").write_text("mine")
    order = AuditOrder(folder=tmp_path / "job", pictures=tmp_path / "taken")
    result = audit_folder(order)
    assert result.audit is not None
    assert codes(result.findings) == ["audit-pictures-unwritable"]
    assert (tmp_path / "taken").read_text() == "mine"


def test_a_sealed_folder_needs_its_passphrase(tmp_path: Path) -> None:
    """Without it nothing is read; with it the audit is the same."""
    pinned(tmp_path, passphrase="alder and oak")
    folder = tmp_path / "job"
    assert codes(audit_folder(AuditOrder(folder=folder)).findings) == ["folder-sealed"]
    result = audit_folder(AuditOrder(folder=folder, passphrase="alder and oak"))
    assert result.audit is not None
    assert result.audit.faults == ()


@pytest.mark.parametrize("which", ["folder", "beside"])
def test_a_missing_folder_is_a_finding(tmp_path: Path, which: str) -> None:
    """No job in either place: a fault, no audit."""
    pinned(tmp_path)
    places = {"folder": tmp_path / "job", "beside": None, which: tmp_path / "none"}
    folder = places["folder"]
    assert folder is not None
    result = audit_folder(AuditOrder(folder=folder, beside=places["beside"]))
    assert result.audit is None
    assert codes(result.findings) == ["folder-not-a-job"]
