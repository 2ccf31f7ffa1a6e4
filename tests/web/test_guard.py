"""What the door of the page refuses, and what every answer carries."""

import re

import pytest
from fastapi.routing import APIRoute

from pinloom.web.guard import LONGEST, TOKEN_HEADER
from pinloom.web.sessions import SIGNS, Sessions, new_secret, plain
from tests.web.kit import IDLE, ORIGIN, SECRET, Clock, Visit


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1:9999", "127.0.0.1", "", "10.0.0.1:8440"]
)
def test_a_foreign_host_is_refused(inside: Visit, host: str) -> None:
    """Whatever name a request calls the page by that is not its own, nothing of a job is shown."""
    found = inside.get("/job/office", host=host)
    assert found.status == 421
    assert "Alder Quay office" not in found.text
    assert inside.get("/job/office").status == 200


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:9999"])
def test_a_foreign_origin_is_refused(inside: Visit, origin: str) -> None:
    """Neither a change nor a look that another page makes gets through, token or not."""
    assert inside.post("/awake", origin=origin).status == 403
    assert inside.get("/job/office", origin=origin).status == 403
    assert inside.post("/awake").status == 200


def test_a_change_without_an_origin_is_refused(inside: Visit) -> None:
    """A browser always names the origin of a change."""
    answer = inside.client.post("/awake", headers={TOKEN_HEADER: inside.token})
    assert answer.status_code == 403


def test_other_sites_may_link_but_not_ask(inside: Visit) -> None:
    """Another page may lead a person here; it may not fetch, not even from this machine."""
    asked = {"sec-fetch-site": "same-site", "sec-fetch-mode": "no-cors"}
    assert inside.get("/job/office", **asked).status == 403
    assert inside.post("/awake", None, **{"sec-fetch-site": "cross-site"}).status == 403
    led = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert inside.get("/job/office", **led).status == 200


def _changes(visit: Visit) -> list[str]:
    """The address of every change that the page knows, with names put in."""
    found = []
    for router in visit.app.routes:
        for route in _flat(router):
            if (route.methods or set()) - {"GET", "HEAD"}:
                found.append(re.sub(r"\{\w+\}", "office", route.path))
    return found


def _flat(route: object) -> list[APIRoute]:
    if isinstance(route, APIRoute):
        return [route]
    inner = getattr(route, "original_router", None)
    return [one for one in inner.routes if isinstance(one, APIRoute)] if inner else []


def test_every_change_needs_the_token(inside: Visit) -> None:
    """Of all routes that change something, only the entrance works without the token, and a wrong
    token is as bad as none.
    """
    paths = _changes(inside)
    assert {"/enter", "/lock", "/demo"} <= set(paths)
    for path in set(paths) - {"/enter"}:
        for token in ("", "x" * 43):
            answer = inside.client.post(path, headers={"origin": ORIGIN, TOKEN_HEADER: token})
            if answer.status_code != 404:
                assert answer.status_code == 403, path
    assert inside.get("/").status == 200  # the lock among them did not lock


def test_the_token_is_of_this_session(outside: Visit) -> None:
    """Another browser's token does not do."""
    first = outside.enter().token
    outside.client.cookies.clear()
    second = outside.enter().token
    assert first != second
    sent = {"origin": ORIGIN, TOKEN_HEADER: first}
    assert outside.client.post("/awake", headers=sent).status_code == 403
    assert outside.post("/awake").status == 200


def test_nothing_is_shown_before_the_secret(outside: Visit) -> None:
    """Every page leads to the entrance, every change is refused, and the entrance tells nothing."""
    for path in ("/", "/job/office", "/job/no-such-job"):
        found = outside.get(path)
        assert found.status == 303
        assert found.headers["location"].startswith("/enter")
    assert outside.post("/demo").status == 401
    page = outside.get("/enter")
    assert page.status == 200
    assert "office" not in page.text
    assert SECRET not in page.text


def test_after_the_lock_everything_is_refused(inside: Visit) -> None:
    """Locked by hand: the cookie that was good is worth nothing, also when it is kept."""
    mark = dict(inside.client.cookies)
    assert inside.post("/lock").status == 303
    inside.client.cookies.update(mark)
    assert inside.get("/job/office").status == 303
    assert inside.post("/demo").status == 401


def test_idle_time_locks(inside: Visit) -> None:
    """Within idle time the page is open, and every look begins it anew; beyond, it is locked."""
    for _ in range(3):
        inside.clock.now += IDLE - 1
        assert inside.get("/job/office").status == 200
    inside.clock.now += IDLE + 1
    assert inside.get("/job/office").status == 303
    assert inside.post("/awake").status == 401


def test_every_answer_forbids_the_outside(inside: Visit) -> None:
    """Pages, pieces, refusals and style sheets carry the policy; only style sheets may be kept."""
    for path in ("/", "/enter", "/job/office", "/no-such-page", "/static/page.css"):
        headers = inside.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
        assert "unsafe" not in policy
        assert "http" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        kept = "no-cache" if path.startswith("/static") else "no-store"
        assert headers["cache-control"] == kept
    assert inside.get("/", host="evil.example").headers["x-frame-options"] == "DENY"


def test_a_change_of_unsaid_or_great_length_is_refused(inside: Visit) -> None:
    """What does not say its length, or is longer than the page takes, is not read."""
    sent = {"origin": ORIGIN, TOKEN_HEADER: inside.token}
    pieces = inside.client.post("/awake", content=iter([b"a", b"b"]), headers=sent)
    assert pieces.status_code == 411
    long = inside.client.post("/awake", headers={**sent, "content-length": str(LONGEST + 1)})
    assert long.status_code == 413


def test_the_cookie_is_for_the_server_alone(outside: Visit) -> None:
    """No script reads it, no other site sends it, and it dies with the browser."""
    answer = outside.client.post("/enter", data={"secret": SECRET}, headers={"origin": ORIGIN})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "expires" not in cookie
    assert "max-age" not in cookie


@pytest.mark.parametrize("way", ["//evil.example", "http://evil.example", "/\\evil", "/enter", "x"])
def test_the_entrance_leads_nowhere_else(outside: Visit, way: str) -> None:
    """After the secret a browser goes to a page of ours, whatever the address asked for."""
    form = {"secret": SECRET, "next": way}
    answer = outside.client.post("/enter", data=form, headers={"origin": ORIGIN})
    assert answer.headers["location"] == "/"
    good = outside.client.post(
        "/enter", data={**form, "next": "/job/office"}, headers={"origin": ORIGIN}
    )
    assert good.headers["location"] == "/job/office"


# --- secrets --------------------------------------------------------------------------------------


def test_secrets_are_long_and_new() -> None:
    """Sixteen signs of 32: 80 bits; no two alike."""
    made = {new_secret() for _ in range(200)}
    assert len(made) == 200
    for one in made:
        assert len(plain(one)) == 16
        assert set(plain(one)) <= set(SIGNS)


@pytest.mark.parametrize("typed", ["k7qf03xw9mtbh2rd", " K7QF O3XW 9MTB H2RD ", SECRET])
def test_a_secret_may_be_typed_loosely(typed: str) -> None:
    """Case, blanks and hyphens are nothing, a letter O is a nought; another sign is wrong."""
    sessions = Sessions(SECRET, IDLE, Clock())
    assert sessions.enter(typed) is not None
    assert sessions.enter(typed.replace("9", "8")) is None


def test_wrong_secrets_are_looked_at_ever_more_slowly() -> None:
    """Five are free; then even the right one waits, and after the wait it works."""
    clock = Clock()
    sessions = Sessions(SECRET, IDLE, clock)
    for _ in range(5):
        assert sessions.enter("wrong") is None
    assert sessions.enter(SECRET) is None
    assert sessions.pause() == 1.0
    clock.now += 1.0
    assert sessions.enter("wrong") is None
    assert sessions.pause() == 2.0
    clock.now += 2.0
    assert sessions.enter(SECRET) is not None
