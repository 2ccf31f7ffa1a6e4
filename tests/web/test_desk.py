"""The key desk over its forms: from the cabinet to a person and back, lost and found."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from pinloom.workflow.folder import load
from pinloom.workflow.ledger import desk
from tests.ledger import kit
from tests.web.kit import Visit, visit
from tests.web.ledgers import SYSTEM, small_ledger


@pytest.fixture
def at(jobs: Path, tmp_path: Path) -> Visit:
    """A browser at a desk with a small ledger."""
    return visit(jobs, small_ledger(tmp_path / "ledger.db", jobs / "office")).enter()


def _copy(at: Visit, stamp: str) -> str:
    """The page of a copy, by the box."""
    found = re.search(
        rf'<a href="(/desk/copy/\d+)">[^<]*{stamp}', at.get(f"/desk?find={stamp}").text
    )
    assert found is not None
    return found[1]


def test_without_a_ledger_the_desk_says_how_to_begin(inside: Visit, tmp_path: Path) -> None:
    """No ledger is no error: the commands that make one, and a way back."""
    there = visit(inside.jobs, str(tmp_path / "none.db")).enter()
    page = there.get("/desk")
    assert page.status == 200
    assert "pinloom ledger new" in page.text
    assert there.post("/desk/person", {"name": "Rigger"}).status == 200
    assert not (tmp_path / "none.db").exists()


def test_a_key_goes_out_and_comes_back(at: Visit) -> None:
    """Issued with a receipt that names key, people and day; out; back in the cabinet."""
    path = _copy(at, "sales-1")
    assert "In the cabinet" in at.get(path).text
    done = at.post(f"{path}/issue", {"person": "Rigger", "due": "2999-01-31", "why": "season"})
    assert done.status == 200
    assert "Recorded: issued" in done.text
    receipt = re.search(r'href="(/desk/receipt/[^"]+)"', done.text)
    assert receipt is not None
    paper = at.get(receipt[1]).text
    for text in ("sales-1", SYSTEM, "2999-01-31", "Rigger", "Desk"):
        assert text in paper
    assert "Rigger" in at.get("/desk").text
    again = at.post(f"{path}/issue", {"person": "Sailmaker"})
    assert again.status == 409
    assert "ledger-is-out" in again.text
    assert at.post(f"{path}/back").status == 200
    assert "In the cabinet" in at.get(path).text
    assert "<dt>Back</dt>" in at.get(receipt[1]).text


def test_one_box_finds_keys_people_and_doors(at: Visit) -> None:
    """A person leads to what is held and can be opened, a door to who can open it."""
    at.post(f"{_copy(at, 'cleaning-1')}/issue", {"person": "Sailmaker"})
    hit = re.search(r'href="(/desk/person/\d+)">Sailmaker', at.get("/desk?find=sail").text)
    assert hit is not None
    page = at.get(hit[1]).text
    assert "cleaning-1" in page
    assert "104A" in page
    door = re.search(r'href="(/desk/door[^"]+)">[^<]*104A', at.get("/desk?find=104A").text)
    assert door is not None
    who = at.get(door[1].replace("&amp;", "&")).text
    assert "Sailmaker" in who
    assert "sales-1" in who
    assert "Nothing has that in its name." in at.get("/desk?find=zzz").text


def test_a_loss_leads_to_its_plans(at: Visit) -> None:
    """Recorded with its reason; the next page leads to the plans; found and trusted, it is back."""
    path = _copy(at, "sales-2")
    assert at.post(f"{path}/lose", {"why": ""}).status == 409
    done = at.post(f"{path}/lose", {"why": "overboard at the slip"})
    assert "Recorded: lost" in done.text
    assert "/job/office/lost?key=sales" in done.text
    assert "Lost." in at.get(path).text
    assert at.post(f"{path}/issue", {"person": "Rigger"}).status == 409
    found = at.post(f"{path}/find", {"why": "in the bilge", "trusted": "yes"})
    assert "Recorded: found" in found.text
    assert "In the cabinet" in at.get(path).text


def test_overdue_is_shown_and_recorded_once(at: Visit, monkeypatch: pytest.MonkeyPatch) -> None:
    """A day that has passed: overdue on the desk, recorded, and not recorded twice."""
    path = _copy(at, "sales-3")
    with desk(at.app.state.house.setting.ledger, "Desk") as found:
        assert found.value is not None
        today = found.value.ask(lambda view: view.today).value
    at.post(f"{path}/issue", {"person": "Rigger", "due": str(today)})
    assert "overdue" not in at.get(path).text
    from datetime import datetime, timedelta

    from pinloom.workflow import ledger as work

    later = datetime.fromisoformat(f"{today}T12:00:00+00:00") + timedelta(days=2)
    monkeypatch.setattr(work, "now", lambda: later)
    assert "overdue" in at.get(path).text
    assert "Recorded: overdue" in at.post("/desk/overdue").text
    assert "Nothing to record" in at.post("/desk/overdue").text


def test_wrong_input_is_told(at: Visit) -> None:
    """Nobody of that name, a day that has passed, things that are not there: words alone."""
    path = _copy(at, "sales-1")
    for form, code in (
        ({"person": "Nobody"}, "ledger-unknown"),
        ({"person": "Rigger", "due": "2001-01-01"}, "ledger-due-past"),
        ({"person": "Rigger", "due": "soon"}, "ledger-bad-date"),
    ):
        answer = at.post(f"{path}/issue", form)
        assert answer.status == 409
        assert code in answer.text
    for address in ("/desk/copy/999", "/desk/person/999", "/desk/receipt/99", "/desk/receipt/x"):
        assert at.get(address).status == 404, address
    for address in ("/desk/door?system=1&name=none", "/desk/key?system=99&name=sales"):
        assert at.get(address).status == 404, address
    assert at.post("/desk/person", {"name": ""}).status == 409


def _pages(at: Visit) -> Iterator[str]:
    """Every page of the desk, with a key out, one lost and one destroyed."""
    at.post(f"{_copy(at, 'sales-1')}/issue", {"person": "Rigger"})
    yield at.post(f"{_copy(at, 'sales-2')}/lose", {"why": "gone"}).text
    yield at.post(f"{_copy(at, 'sales-3')}/destroy", {"why": "bent", "witness": "Rigger"}).text
    todo, seen = ["/desk", "/desk?find=s", "/desk?find=1", "/job/office/lost?key=sales"], set()
    while todo:
        path = todo.pop()
        if path in seen:
            continue
        seen.add(path)
        text = at.get(path).text
        todo += [p.replace("&amp;", "&") for p in re.findall(r'href="(/desk/[^"]+)"', text)]
        yield text
    assert len(seen) > 12


def test_no_page_of_the_desk_shows_a_cut(at: Visit) -> None:
    """Walked from link to link, whatever was done: no page holds the cuts of any key."""
    job = load(at.jobs / "office").job
    assert job is not None
    cuts = [job.key_format.stamp(levels) for levels in job.bittings]
    assert len(cuts) == 4
    for text in _pages(at):
        assert not [one for one in cuts if one in text]
        assert kit.PASSPHRASE not in text


def test_plans_of_a_lost_key(inside: Visit) -> None:
    """Every plan of the page is proved and names its trips; a key that is not there is told."""
    page = inside.get("/job/office/lost?key=cleaning").text
    assert "What cleaning opens" in page
    assert "Every state on the way is proved." in page
    assert "Trip: re-pin" in page
    assert inside.get("/job/office/lost?key=nobody").status == 404
    assert "Show the plans" in inside.get("/job/office/lost").text
