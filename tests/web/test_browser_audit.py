"""The audit's pages and the paper in a real browser."""

import pytest
from playwright.sync_api import Page, expect

from tests.web.kit import Server
from tests.web.test_browser_home import wrongs


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_numbers_lead_to_doors(shown: Page, server: Server, scheme: str) -> None:
    """Pictures are loaded, a number opens the doors behind it, a door leads to the trial; nothing
    serious.
    """
    shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    shown.goto(server.address + "job/alder-quay/audit")
    loaded = "[...document.images].map(one => one.complete && one.naturalWidth > 0)"
    shown.wait_for_load_state("load")
    assert shown.evaluate(loaded) == [True, True, True]
    row = shown.get_by_role("row").filter(has_text="take the door off the masters")
    row.locator("summary").click()
    expect(row.get_by_text("Yard gate")).to_be_visible()
    assert wrongs(shown) == []
    assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")
    shown.get_by_role("link", name="Flare store").click()
    expect(shown.get_by_label("Door", exact=True)).to_have_value("Flare store")


def test_paper_is_made_and_saved(shown: Page, server: Server) -> None:
    """Ticked, made, saved as a file."""
    shown.goto(server.address + "job/office/paper")
    shown.get_by_label("keying schedule").check()
    assert wrongs(shown) == []
    shown.get_by_role("button", name="Make the sheets").click()
    expect(shown.get_by_role("heading", name="Sheets of")).to_be_visible()
    assert wrongs(shown) == []
    with shown.expect_download() as saved:
        shown.get_by_role("link", name="Save all as one file").click()
    assert saved.value.suggested_filename == "all.zip"
