"""The bench in a real browser, by keys and by touch."""

import pytest
from playwright.sync_api import Page, expect

from tests.web.kit import Server
from tests.web.test_browser_home import wrongs


def test_the_whole_cylinder_by_enter_alone(shown: Page, server: Server) -> None:
    """Enter, and nothing else, sets every chamber, tries every key, marks the cylinder and brings
    the next one.
    """
    shown.goto(server.address + "job/office/bench/1")
    name = shown.get_by_role("heading", level=1).inner_text()
    for chamber in range(1, 7):
        expect(shown.get_by_role("heading", name=f"Chamber {chamber}")).to_be_visible()
        shown.keyboard.press("Enter")
    expect(shown.get_by_role("heading", name="Test with keys")).to_be_visible()
    expect(shown.locator("#spoken")).to_contain_text("These must open it")
    keys = shown.locator(".tries li").count()
    assert keys > 1
    for tried in range(1, keys + 1):
        shown.keyboard.press("Enter")
        expect(shown.locator(".tries").get_by_text("as it must")).to_have_count(tried)
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/bench/2")
    assert shown.get_by_role("heading", level=1).inner_text() != name
    shown.keyboard.press("p")
    shown.wait_for_url("**/bench/1")
    expect(shown.get_by_role("button", name="Test: done")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_bench_on_a_tablet(shown: Page, server: Server, scheme: str) -> None:
    """Upright at 800 x 1280: buttons as large as a thumb, all in sight, nothing serious; what was
    checked off is there after loading anew, and can be taken back.
    """
    number = 3 if scheme == "light" else 4
    shown.set_viewport_size({"width": 800, "height": 1280})
    shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    shown.goto(f"{server.address}job/office/bench/{number}")
    main = shown.get_by_role("button", name="These pins are in")
    box = main.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    assert box["y"] + box["height"] < 1280
    main.click()
    expect(shown.get_by_role("button", name="Chamber 1: in")).to_be_visible()
    shown.reload()
    expect(shown.get_by_role("heading", name="Chamber 2")).to_be_visible()
    shown.get_by_role("button", name="Chamber 1: in").click()
    shown.get_by_role("button", name="Not in after all").click()
    expect(shown.get_by_role("button", name="Chamber 1: to do")).to_be_visible()
    assert wrongs(shown) == []
    shown.goto(server.address + "job/office/bench")
    assert wrongs(shown) == []
    assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")
