"""The key desk in a real browser."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.web.kit import Server, serving
from tests.web.ledgers import small_ledger
from tests.web.test_browser_home import wrongs


@pytest.fixture(scope="module")
def desk_server(made_jobs: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The program with a small ledger."""
    folder = tmp_path_factory.mktemp("desk")
    jobs = Path(shutil.copytree(made_jobs / "office", folder / "jobs" / "office")).parent
    ledger = small_ledger(folder / "ledger.db", jobs / "office")
    with serving(jobs, "--ledger", ledger, "--clerk", "Desk") as running:
        yield running


def test_from_the_box_to_the_receipt_by_keyboard(page: Page, desk_server: Server) -> None:
    """Looked for, handed out and printed by keyboard; the receipt prints alone; nothing serious on
    any of the pages, light and dark.
    """
    page.set_default_timeout(15_000)
    page.goto(desk_server.address + "desk")
    page.get_by_label("Secret").fill(desk_server.secret)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Key desk")).to_be_visible()
    assert wrongs(page) == []
    page.get_by_label("Key, person or door").fill("sales-1")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="sales-1").click()
    expect(page.get_by_text("In the cabinet")).to_be_visible()
    page.emulate_media(color_scheme="dark")
    assert wrongs(page) == []
    page.get_by_label("To", exact=True).fill("Rigger")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Recorded: issued")).to_be_visible()
    page.get_by_role("link", name="The receipt").click()
    expect(page.get_by_role("article")).to_contain_text("Rigger")
    assert wrongs(page) == []
    page.emulate_media(media="print")
    expect(page.get_by_role("article")).to_be_visible()
    expect(page.get_by_role("button", name="Lock the page")).to_be_hidden()
    page.emulate_media(media="screen", color_scheme="light")
    page.get_by_role("link", name="Back to the desk").click()
    expect(page.get_by_role("row").filter(has_text="sales-1")).to_contain_text("Rigger")
    assert wrongs(page) == []


def test_plans_are_readable(shown: Page, server: Server) -> None:
    """The plan page of the example's fire warden: proved, nothing serious."""
    shown.goto(server.address + "job/office/lost?key=cleaning")
    expect(shown.get_by_text("Every state on the way is proved").first).to_be_visible(
        timeout=30_000
    )
    assert wrongs(shown) == []


def test_the_other_pages_are_sound(page: Page, desk_server: Server) -> None:
    """Pages that no other test looks at: a person, a door, a key symbol, an error, a wrong secret,
    a refused form. Nothing serious on any of them.
    """
    page.set_default_timeout(15_000)
    page.goto(desk_server.address)
    page.get_by_label("Secret").fill("wrong")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("That is not the secret")
    assert wrongs(page) == []
    page.get_by_label("Secret").fill(desk_server.secret)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Jobs", exact=True)).to_be_visible()
    for text, link in (("Sailmaker", "Sailmaker"), ("104A", "104A"), ("cleaning", "cleaning")):
        page.goto(desk_server.address + f"desk?find={text}")
        assert wrongs(page) == []
        page.get_by_role("link", name=link, exact=True).first.click()
        expect(page.get_by_role("link", name="Back to the desk")).to_be_visible()
        assert wrongs(page) == []
    page.goto(desk_server.address + "no-such-page")
    expect(page.get_by_role("heading", name="That did not work")).to_be_visible()
    assert wrongs(page) == []
    page.goto(desk_server.address + "new")
    page.get_by_label("Name of the job").fill("Lofts")
    page.get_by_role("button", name="Design it, pin it, prove it").click()
    expect(page.get_by_text("There is no chart")).to_be_visible()
    assert wrongs(page) == []
