"""The first pages in a real browser."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.web.kit import Server

SERIOUS = {"serious", "critical"}
SIZES = [(1280, 800), (800, 1280)]


def wrongs(page: Page) -> list[str]:
    """What axe finds serious on the page, by its name."""
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html']}" for one in found if one["impact"] in SERIOUS]


def test_from_the_lock_to_a_job_by_keyboard(page: Page, server: Server) -> None:
    """The secret is typed where the cursor stands; links are reached with the tabulator; locking
    shows nothing any more, also on the way back.
    """
    page.goto(server.address)
    assert wrongs(page) == []
    page.keyboard.type(server.secret.lower())
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Jobs", exact=True)).to_be_visible()
    assert server.secret not in page.content()
    assert "secret" not in page.url
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText").strip() == "office":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_text("Every key opens exactly its doors")).to_be_visible()
    page.get_by_role("button", name="Lock the page").click()
    expect(page.get_by_role("heading", name="The page is locked")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="The page is locked")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_first_pages_are_sound(
    shown: Page, server: Server, scheme: str, width: int, height: int
) -> None:
    """Both themes, both ways to hold a tablet: nothing serious, nothing wider than the screen."""
    shown.set_viewport_size({"width": width, "height": height})
    shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    for path in ("", "job/alder-quay", "job/faulty"):
        shown.goto(server.address + path)
        assert wrongs(shown) == []
        assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_idle_time_hides_the_page(page: Page, server: Server) -> None:
    """Nobody touches the page for its idle time: the lock stands in front, without any request."""
    page.clock.install()
    page.goto(server.address)
    page.get_by_label("Secret").fill(server.secret)
    page.get_by_role("button", name="Open the page").click()
    expect(page.get_by_role("heading", name="Jobs", exact=True)).to_be_visible()
    page.wait_for_load_state("load")  # by then the page's own clock runs
    page.clock.run_for(16 * 60 * 1000)
    expect(page.get_by_role("heading", name="The page is locked")).to_be_visible()


def test_a_request_to_the_outside_would_be_noticed(page: Page, server: Server) -> None:
    """The policy stops a picture from elsewhere, and the listener of every test sees the try."""
    page.goto(server.address)
    wrong: list[str] = []
    page.on("console", lambda line: wrong.append(line.text))
    page.evaluate(
        "new Promise(done => { const one = new Image(); one.onerror = done; "
        "one.src = 'http://127.0.0.1:9/x.png'; })"
    )
    assert any("Content Security Policy" in line for line in wrong)


def test_a_job_is_made_from_the_clipboard(shown: Page, server: Server) -> None:
    """From the first page: name, hardware, a pasted table; the job opens, proved."""
    shown.goto(server.address + "new")
    assert wrongs(shown) == []
    shown.get_by_label("Name of the job").fill("Pasted lofts")
    shown.get_by_label("Paste it from a spreadsheet").fill(
        "door\tT\tA\nLoft 1\tx\tx\nLoft 2\tx\t\n"
    )
    shown.get_by_role("button", name="Design it, pin it, prove it").click()
    expect(shown.get_by_text("Every key opens exactly its doors")).to_be_visible()
