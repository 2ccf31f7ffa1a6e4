"""The grid in a real browser: keyboard, filters, sticky heads, thousands of rows."""

import json
import time

from playwright.sync_api import Page, Route, expect

from tests.web.kit import Server
from tests.web.test_browser_home import wrongs

DOORS, KEYS = 5000, 1500


def _open(page: Page, server: Server, path: str = "job/alder-quay/chart") -> None:
    page.goto(server.address + path)
    page.locator("#board[data-ready]").wait_for()


def test_the_grid_by_keyboard(shown: Page, server: Server) -> None:
    """Arrows walk, the words under the heads say where one is, Enter tries the key in the door."""
    _open(shown, server)
    board = shown.get_by_role("grid")
    board.focus()
    here = shown.locator("#here")
    for key in ("ArrowDown", "ArrowDown", "ArrowRight"):
        shown.keyboard.press(key)
    expect(here).to_contain_text("Key BS1 opens Boat shed north.")
    shown.keyboard.press("ArrowRight")
    expect(here).to_contain_text("Key BS2 does not open Boat shed north.")
    at = shown.locator(f"[id='{board.get_attribute('aria-activedescendant')}']")
    expect(at).to_have_text("shut")
    shown.keyboard.press("Control+End")
    expect(here).to_contain_text("Key warden opens Yard gate.")
    expect(shown.get_by_role("rowheader", name="Yard gate")).to_be_in_viewport()
    assert wrongs(shown) == []


def test_filters_narrow_doors_and_keys(shown: Page, server: Server) -> None:
    """Doors by name; then only the keys that open one of them."""
    _open(shown, server)
    shown.get_by_label("Doors with").fill("loft")
    expect(shown.get_by_role("rowheader")).to_have_text(
        ["Loft 1", "Loft 2", "Loft 3", "Loft stair"]
    )
    shown.get_by_label("only keys that open a door shown").check()
    expect(shown.get_by_role("grid")).to_have_attribute("aria-colcount", "8")
    shown.get_by_label("Keys with").fill("zzz")
    expect(shown.locator("#here")).to_contain_text("No door or no key")


def test_thousands_of_rows_scroll(shown: Page, server: Server) -> None:
    """5,000 doors by 1,500 keys: the document stays small, heads stay in sight, the last mark is
    reached, and a page of scrolling is drawn at once.
    """
    data = {
        "doors": [[f"Door {n}", "", 1] for n in range(DOORS)],
        "keys": [[f"K{n}", "", ""] for n in range(KEYS)],
        "openers": [[0, n % KEYS] for n in range(DOORS)],
    }

    def answer(route: Route) -> None:
        route.fulfill(status=200, content_type="application/json", body=json.dumps(data))

    shown.route("**/chart.json", answer)
    start = time.perf_counter()
    _open(shown, server)
    assert time.perf_counter() - start < 5.0
    assert shown.locator("#board *").count() < 4000
    shown.get_by_role("grid").focus()
    shown.keyboard.press("Control+End")
    expect(shown.locator("#here")).to_contain_text(f"Key K{KEYS - 1} ")
    expect(shown.get_by_role("rowheader", name=f"Door {DOORS - 1}")).to_be_in_viewport()
    expect(shown.get_by_role("columnheader", name=f"K{KEYS - 1}")).to_be_in_viewport()
    slowest = shown.evaluate(
        """async () => {
          const board = document.getElementById("board");
          let worst = 0;
          for (let n = 0; n < 40; n += 1) {
            board.scrollTop = n * 2500;
            const start = performance.now();
            await new Promise(requestAnimationFrame);
            await new Promise(requestAnimationFrame);
            worst = Math.max(worst, performance.now() - start);
          }
          return worst;
        }"""
    )
    assert slowest < 1000


def test_the_branches_at_work(shown: Page, server: Server) -> None:
    """A key's doors open under it and lead to the trial; nothing serious for a reader of pages."""
    shown.goto(server.address + "job/alder-quay/branches")
    leaf = shown.get_by_role("listitem").filter(has_text="SKD1")
    leaf.get_by_text("1 door").click()
    expect(leaf.get_by_role("link", name="Flare store")).to_be_visible()
    assert wrongs(shown) == []
