"""The bench over its forms: order, check-offs, refusals, a crash."""

import re
import shutil
import signal
from pathlib import Path

import httpx

from pinloom.workflow.checkoffs import FILE
from tests.web.kit import Visit, serving

AT = "/job/office/bench"


def _piece(inside: Visit, number: int, go: str) -> str:
    return inside.post(f"{AT}/{number}", {"go": go}, **{"x-pinloom-piece": "1"}).text


def _buttons(text: str) -> list[str]:
    return re.findall(r'name="go" value="([^"]+)"', text)


def test_a_cylinder_from_the_first_pin_to_the_mark(inside: Visit) -> None:
    """Chambers are checked off one by one; the mark is offered only when every chamber is in and
    every key was tried; then the next cylinder comes.
    """
    page = inside.get(f"{AT}/1").text
    for chamber in range(6):
        assert f"Chamber {chamber + 1}</h2>" in page
        assert "tested" not in _buttons(page)
        page = _piece(inside, 1, f"set-{chamber}")
    assert "Test with keys" in page
    tries = [one for one in _buttons(page) if one.startswith(("opens-", "refused-"))]
    assert tries
    for one in tries:
        assert "tested" not in _buttons(page)
        page = _piece(inside, 1, one)
    assert "tested" in _buttons(page)
    last = inside.post(f"{AT}/1", {"go": "tested"}, **{"x-pinloom-piece": "1"})
    assert last.headers["x-pinloom-go"] == f"{AT}/2"
    overview = inside.get(AT).text
    assert "<td>tested</td>" in overview
    assert inside.post(f"{AT}/1", {"go": "untested"}).status == 200
    assert "<td>pinned, to be tested</td>" in inside.get(AT).text


def test_a_mark_cannot_be_had_early(inside: Visit) -> None:
    """No hand-made form marks a cylinder as tested, or keys and chambers that are not its."""
    for go in ("tested", "opens-999", "set-99", "set-99999999999", "nonsense", "unknown-1", ""):
        assert inside.post(f"{AT}/1", {"go": go}).status == 200
    assert not (inside.jobs / "office" / FILE).exists()
    for number in ("0", "999", "-1", "x"):
        assert inside.get(f"{AT}/{number}").status in (404, 422)


def test_wrong_keys_begin_the_cylinder_again(inside: Visit) -> None:
    """A key that did otherwise: nothing of the cylinder counts any more."""
    _piece(inside, 2, "set-0")
    assert "1 of 6 chambers" in inside.get(AT).text
    _piece(inside, 2, "again")
    assert "1 of 6 chambers" not in inside.get(AT).text


def test_an_unproved_job_never_comes_to_the_bench(inside: Visit) -> None:
    """Nothing is pinned without a proof, and the words say so."""
    for path in ("/job/faulty/bench", "/job/faulty/bench/1"):
        page = inside.get(path)
        assert page.status == 409
        assert "not proved" in page.text
    assert inside.post("/job/faulty/bench/1", {"go": "set-0"}).status == 409


def test_a_check_off_that_is_not_on_the_disk_is_told(inside: Visit) -> None:
    """Something that is no file stands in the way: words, and nothing is checked off."""
    (inside.jobs / "office" / FILE).symlink_to("elsewhere")
    answer = inside.post(f"{AT}/1", {"go": "set-0"})
    assert answer.status == 409
    assert "bench-unrecorded" in answer.text
    assert not (inside.jobs / "office" / "elsewhere").exists()


def test_check_offs_survive_a_killed_server(made_jobs: Path, tmp_path: Path) -> None:
    """The server is killed without a word in the middle of the work; a new one shows every
    check-off that the old one had answered, and the job itself is untouched.
    """
    jobs = Path(shutil.copytree(made_jobs, tmp_path / "jobs"))
    before = (jobs / "office" / "job.json").read_bytes()
    with serving(jobs) as running:
        for chamber in range(4):
            _press(running.address, running.secret, f"set-{chamber}")
        running.process.send_signal(signal.SIGKILL)
        running.process.wait(timeout=10)
    with serving(jobs) as running:
        page = _press(running.address, running.secret, "look-0")
    assert len(re.findall(r'aria-label="Chamber \d: in"', page)) == 4
    assert (jobs / "office" / "job.json").read_bytes() == before


def _press(address: str, secret: str, go: str) -> str:
    """One button of the first cylinder, in a browser that has just come in."""
    origin = {"origin": address.rstrip("/")}
    with httpx.Client(base_url=address, headers=origin, trust_env=False) as client:
        client.post("/enter", data={"secret": secret})
        page = client.get(f"{AT}/1").text
        token = re.search(r'name="token" value="([^"]+)"', page)
        assert token is not None
        return client.post(f"{AT}/1", data={"token": token[1], "go": go}).text
