"""Try a key in a real browser."""

import pytest
from playwright.sync_api import Page, expect

from tests.web.kit import Server
from tests.web.test_browser_home import wrongs


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_key_is_tried_by_keyboard(shown: Page, server: Server, scheme: str) -> None:
    """Door and key are typed, Enter tries; the words change in place and the address holds
    nothing; a key of the wrong loft is held, its own turns.
    """
    shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    shown.goto(server.address + "job/alder-quay/try")
    at = shown.url
    shown.get_by_label("Door", exact=True).fill("Loft 2")
    shown.get_by_label("Key", exact=True).fill("SL3")
    shown.keyboard.press("Enter")
    status = shown.locator("#tried").get_by_role("status")
    expect(status).to_contain_text("Key SL3 is held by")
    expect(shown.get_by_text("The plug stays")).to_be_visible()
    expect(shown.locator("tr.holds")).not_to_have_count(0)
    expect(shown.get_by_role("img", name="Loft 2: section with key SL3")).to_be_visible()
    shown.get_by_role("button", name="Key before").click()
    expect(status).to_contain_text("Key SL2 turns")
    expect(shown.get_by_label("Key", exact=True)).to_have_value("SL2")
    expect(shown.get_by_text("The plug turns")).to_be_visible()
    assert shown.url == at
    assert wrongs(shown) == []


def test_typed_cuts_are_tried_and_dropped(shown: Page, server: Server) -> None:
    """Cuts beside the key count while they stand there; choosing a key drops them."""
    shown.goto(server.address + "job/office/try")
    shown.get_by_label("Door", exact=True).fill("105")
    shown.get_by_label("or any cuts").fill("343621")
    shown.get_by_role("button", name="Try it").click()
    expect(shown.get_by_role("heading", name="These cuts at every door")).to_be_visible()
    assert "343621" not in shown.url
    shown.get_by_role("button", name="Next key").click()
    expect(shown.get_by_label("or any cuts")).to_have_value("")
    expect(shown.get_by_role("heading", name="Key maintenance at every door")).to_be_visible()


def test_the_drawing_keeps_still_where_asked(shown: Page, server: Server) -> None:
    """Who wants no motion gets none; others see the key slide in."""
    moving = "document.querySelector('#tried .key').getAnimations().length"
    shown.goto(server.address + "job/office/try")
    assert shown.evaluate(moving) == 1
    shown.emulate_media(reduced_motion="reduce")
    shown.reload()
    assert shown.evaluate(moving) == 0


def test_without_scripts_the_form_works(browser: object, server: Server) -> None:
    """The trial needs no script."""
    from playwright.sync_api import Browser

    assert isinstance(browser, Browser)
    page = browser.new_page(java_script_enabled=False)
    page.goto(server.address + "job/office/try")
    page.get_by_label("Secret").fill(server.secret)
    page.get_by_role("button", name="Open the page").click()
    page.get_by_label("Door", exact=True).fill("107")
    page.get_by_role("button", name="Next key").click()
    expect(page.get_by_role("status")).to_contain_text("Key maintenance turns")
    page.close()
