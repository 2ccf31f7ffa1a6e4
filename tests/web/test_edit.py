"""Editing over the page's own requests: what was seen, what is refused, what becomes of it."""

import json
import time
from typing import Any

import pytest

from pinloom.core.request import Remedy
from pinloom.web.edit import _repair
from pinloom.workflow.folder import load
from pinloom.workflow.wanted import FILE, Written
from tests.web.kit import Visit

AT = "/job/tiny/wanted"
MARK: dict[str, object] = {"do": "mark", "door": "Loft 1", "key": "B", "on": True}


def _data(inside: Visit) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(inside.get(f"{AT}.json").text)
    return found


def _write(inside: Visit, seen: str, *edits: dict[str, object]) -> tuple[int, dict[str, Any]]:
    answer = inside.post(AT, {"seen": seen, "edits": json.dumps(edits)})
    return answer.status, json.loads(answer.text)


def _verdict(inside: Visit, seen: str) -> dict[str, Any]:
    """The last word on a chart."""
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        told: dict[str, Any] = json.loads(inside.get(f"{AT}/verdict?seen={seen}").text)
        if told["final"]:
            return told
    pytest.fail("no verdict in half a minute")


def test_an_edit_leaves_the_job_alone(inside: Visit) -> None:
    """The wanted chart has the mark, the job does not; a step back undoes it."""
    before = (inside.jobs / "tiny" / "job.json").read_bytes()
    seen = _data(inside)["seen"]
    status, told = _write(inside, seen, MARK)
    assert status == 200
    assert told["edited"] is True
    assert told["seen"] != seen
    assert (told["back"], told["forth"]) == (1, 0)
    assert (inside.jobs / "tiny" / "job.json").read_bytes() == before
    undone = json.loads(inside.post(f"{AT}/back", {"seen": told["seen"]}).text)
    assert undone["seen"] == seen
    assert undone["edited"] is False
    redone = json.loads(inside.post(f"{AT}/forth", {"seen": seen}).text)
    assert redone["seen"] == told["seen"]
    assert inside.post(f"{AT}/drop").status == 303
    assert not (inside.jobs / "tiny" / FILE).exists()


def test_a_late_edit_is_refused_with_the_chart_as_it_is(inside: Visit) -> None:
    """The second window gets 409, words, and the chart that it did not see."""
    seen = _data(inside)["seen"]
    _write(inside, seen, MARK)
    status, told = _write(inside, seen, {**MARK, "key": "C"})
    assert status == 409
    assert "another window" in told["findings"][0]["what"]
    doors = [door[0] for door in told["chart"]["doors"]]
    keys = [key[0] for key in told["chart"]["keys"]]
    row = told["chart"]["openers"][doors.index("Loft 1")]
    assert {keys[key] for key in row} == {"T", "A", "B"}
    assert inside.post(f"{AT}/make", {"seen": seen}).status == 409


def test_what_is_no_edit_is_refused(inside: Visit) -> None:
    """A door that is not there, a name that is taken, nonsense: words, nothing written."""
    seen = _data(inside)["seen"]
    wrong: list[dict[str, object]] = [{**MARK, "door": "Barn"}, {"do": "door", "name": "LOFT 1"}]
    for edit in wrong:
        status, told = _write(inside, seen, edit)
        assert status == 422
        assert told["findings"]
    assert inside.post(AT, {"seen": seen, "edits": "nonsense"}).status == 422
    assert inside.post(AT, {"seen": seen}).status == 422
    assert _data(inside)["seen"] == seen


def test_the_verdict_follows_the_chart(inside: Visit) -> None:
    """Possible as it is; with five change keys on hardware that holds four, impossible, with the
    doors and keys of the clash; asked about a chart that is gone, it says so.
    """
    first = _data(inside)["seen"]
    assert _verdict(inside, first)["answer"] == "possible"
    edits: list[dict[str, object]] = []
    for name in "DE":
        edits += [{"do": "key", "name": name, "under": "T"}, {"do": "door", "name": f"Loft {name}"}]
        edits += [
            {"do": "mark", "door": f"Loft {name}", "key": key, "on": True} for key in (name, "T")
        ]
    status, told = _write(inside, first, *edits)
    assert status == 200
    verdict = _verdict(inside, told["seen"])
    assert verdict["answer"] == "impossible"
    assert verdict["words"][0] == "Impossible on this hardware."
    assert "T" in verdict["keys"]
    assert any("one more chamber" in one["words"] for one in verdict["repairs"])
    assert json.loads(inside.get(f"{AT}/verdict?seen={first}").text)["answer"] == "gone"


def test_looking_by_itself_keeps_nobody_in(inside: Visit) -> None:
    """A script that asks for the verdict does not keep the page open."""
    seen = _data(inside)["seen"]
    quiet = {"x-pinloom-quiet": "1", "accept": "application/json"}
    for _ in range(4):
        inside.clock.now += 200
        last = inside.get(f"{AT}/verdict?seen={seen}", **quiet)
    assert last.status == 401


def test_a_repair_of_one_mark_can_be_clicked(inside: Visit) -> None:
    """One mark less comes with the edit that makes it; a repair of several doors, or of another
    kind, is words alone.
    """
    job = load(inside.jobs / "tiny").job
    assert job is not None
    written = Written(chart=job.chart, seen="", back=0, forth=0)

    def said(change: str, **values: str) -> dict[str, Any]:
        remedy = Remedy(change=change, values=tuple(values.items()), verified=True)
        return _repair(remedy, written)

    click = said("remedy-drop-mark", key="A", door="Loft 1")
    assert click["words"] == "Let key A not open Loft 1."
    assert click["edit"] == {"do": "mark", "door": "Loft 1", "key": "A", "on": False}
    assert "edit" in said("remedy-leave-outside-master", key="T", door="Loft 1")
    assert "edit" not in said("remedy-drop-mark", key="A", door="Loft 1, Loft 2")
    assert "edit" not in said("remedy-single-key-door", door="Loft 1")


def test_the_next_revision_is_made_and_the_edits_are_gone(inside: Visit) -> None:
    """Every cut key kept: revision 2, proved, what changed by door, no wanted chart left."""
    _, told = _write(inside, _data(inside)["seen"], MARK)
    page = inside.post(f"{AT}/make", {"seen": told["seen"], "how": "keep"})
    assert page.status == 200
    assert "Revision 2 of Tiny" in page.text
    assert "<strong>Proved.</strong>" in page.text
    assert '<th scope="row">Loft 1</th><td>re-pin</td>' in page.text
    assert not (inside.jobs / "tiny" / FILE).exists()
    job = load(inside.jobs / "tiny").job
    assert job is not None
    assert job.revision == 2
    assert "revision 2" in inside.get("/job/tiny").text


def test_what_cannot_be_made_says_why(inside: Visit) -> None:
    """A key without a door: the finding, and the edits are still there."""
    _, told = _write(inside, _data(inside)["seen"], {"do": "key", "name": "Z"})
    page = inside.post(f"{AT}/make", {"seen": told["seen"]})
    assert page.status == 409
    assert "chart-key-idle" in page.text
    assert (inside.jobs / "tiny" / FILE).exists()


def test_a_sealed_job_is_not_edited_here(inside: Visit) -> None:
    """An edited chart in the clear would tell what the seal hides."""
    from tests.workflow.kit import pinned

    pinned(inside.jobs.parent, out=inside.jobs / "shut", passphrase="five sails and a keel")
    inside.post("/job/shut/unseal", {"passphrase": "five sails and a keel"})
    for path in ("/job/shut/wanted", "/job/shut/wanted.json"):
        answer = inside.get(path)
        assert answer.status == 409
        assert "sealed" in answer.text
    assert sorted(path.name for path in (inside.jobs / "shut").iterdir()) == ["job.sealed"]
