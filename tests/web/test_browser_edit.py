"""Editing in a real browser: keyboard, paste, undo, the clash in the grid, two windows."""

import pytest
from playwright.sync_api import Page, expect

from tests.web.kit import Server
from tests.web.test_browser_home import wrongs

PASTE = """text => {
  const data = new DataTransfer();
  data.setData("text/plain", text);
  document.getElementById("board").dispatchEvent(
    new ClipboardEvent("paste", { clipboardData: data, bubbles: true }));
}"""


@pytest.fixture
def editing(shown: Page, server: Server) -> Page:
    """The editor of the tiny job, without edits."""
    shown.on("dialog", lambda dialog: dialog.accept())
    shown.goto(server.address + "job/tiny/wanted")
    shown.locator("#board[data-ready]").wait_for()
    if shown.locator("#drop").is_enabled():
        shown.locator("#drop").click()
        shown.locator("#board[data-ready]").wait_for()
    return shown


def _settled(page: Page, answer: str) -> None:
    expect(page.locator(f"#verdict[data-answer={answer}][data-final=yes]")).to_be_visible(
        timeout=20_000
    )


def test_a_mark_by_keyboard_and_back(editing: Page) -> None:
    """Space sets a mark and the words follow; Ctrl+Z takes it back, Ctrl+Y makes it again; it is
    there after loading anew.
    """
    board, here = editing.get_by_role("grid"), editing.locator("#here")
    _settled(editing, "possible")
    board.focus()
    editing.keyboard.press("ArrowRight")
    expect(here).to_contain_text("Key B does not open Loft 1.")
    editing.keyboard.press("Space")
    expect(here).to_contain_text("Key B opens Loft 1.")
    expect(editing.locator("#undo")).to_be_enabled()
    _settled(editing, "possible")
    editing.keyboard.press("Control+z")
    expect(editing.locator("#redo")).to_be_enabled()
    expect(here).to_contain_text("Key B does not open Loft 1.")
    editing.keyboard.press("Control+y")
    expect(here).to_contain_text("Key B opens Loft 1.")
    editing.reload()
    editing.locator("#board[data-ready]").wait_for()
    expect(editing.locator("#c0-1.opens")).to_be_visible()
    assert wrongs(editing) == []


def test_a_block_is_filled_and_cleared(editing: Page) -> None:
    """Shift with arrows chooses, Space fills the block as the cell at hand, Delete clears it, each
    as one step.
    """
    editing.get_by_role("grid").focus()
    editing.keyboard.press("ArrowRight")
    for key in ("Shift+ArrowRight", "Shift+ArrowDown", "Delete"):
        editing.keyboard.press(key)
    expect(editing.locator(".cell.chosen")).to_have_count(4)
    expect(editing.locator(".cell.chosen.opens")).to_have_count(0)
    editing.keyboard.press("Space")
    expect(editing.locator(".cell.chosen.opens")).to_have_count(4)
    editing.locator("#undo").click()
    expect(editing.locator(".cell.chosen.opens")).to_have_count(0)


def test_paste_from_a_spreadsheet(editing: Page) -> None:
    """A block of cells lands where the hand is; a table with names adds what is new; marks that the
    hardware cannot hold are shown as a clash in the grid, with words.
    """
    editing.get_by_role("grid").focus()
    editing.evaluate(PASTE, "x\tx\n\tx")
    expect(editing.locator("#c0-1.opens")).to_be_visible()
    expect(editing.locator("#c1-0.opens")).to_have_count(0)
    _settled(editing, "possible")
    editing.locator("#undo").click()
    table = "door\tT\tD\tE\nLoft D\tx\tx\t\nLoft E\tx\t\tx\n"
    editing.evaluate(PASTE, table)
    expect(editing.get_by_role("rowheader", name="Loft E")).to_be_visible()
    expect(editing.get_by_role("columnheader", name="D", exact=True)).to_be_visible()
    _settled(editing, "impossible")
    expect(editing.locator("#verdict")).to_contain_text("Impossible on this hardware.")
    expect(editing.locator("#verdict")).to_contain_text("What would help:")
    expect(editing.locator(".cell.clash").first).to_be_visible()
    assert "in the clash" in editing.locator(".cell.clash").first.inner_text()
    assert wrongs(editing) == []
    editing.locator("#undo").click()
    _settled(editing, "possible")


def test_doors_and_keys_come_and_go(editing: Page) -> None:
    """Added, renamed, removed; removing can be undone."""
    editing.get_by_label("New door", exact=True).fill("Boat shed")
    editing.get_by_role("button", name="Add the door").click()
    expect(editing.get_by_role("rowheader", name="Boat shed")).to_be_visible()
    editing.get_by_label("New door", exact=True).fill("LOFT 1")
    editing.get_by_role("button", name="Add the door").click()
    expect(editing.locator("#note")).to_contain_text("There is a door called LOFT 1 already.")
    editing.get_by_label("New key", exact=True).fill("Z")
    editing.get_by_label("under", exact=True).fill("T")
    editing.get_by_role("button", name="Add the key").click()
    expect(editing.get_by_role("columnheader", name="Z")).to_be_visible()
    editing.get_by_role("grid").focus()
    editing.keyboard.press("Control+Home")
    editing.get_by_role("button", name="Remove this door").click()
    expect(editing.get_by_role("rowheader", name="Boat shed")).to_have_count(0)
    editing.locator("#undo").click()
    expect(editing.get_by_role("rowheader", name="Boat shed")).to_be_visible()


def test_two_windows_lose_nothing(editing: Page, server: Server) -> None:
    """The second window's change meets a chart that it did not see: it is told, sees the first
    change, and makes its own again with one button.
    """
    other = editing.context.new_page()
    other.goto(server.address + "job/tiny/wanted")
    other.locator("#board[data-ready]").wait_for()
    editing.get_by_role("grid").focus()
    editing.keyboard.press("ArrowRight")
    editing.keyboard.press("Space")
    expect(editing.locator("#undo")).to_be_enabled()
    other.get_by_role("grid").focus()
    other.keyboard.press("ArrowDown")
    other.keyboard.press("Space")
    expect(other.locator("#note")).to_contain_text("another window")
    expect(other.locator("#c0-1.opens")).to_be_visible()
    expect(other.locator("#c1-0.opens")).to_have_count(0)
    other.get_by_role("button", name="Do my change again").click()
    expect(other.locator("#c1-0.opens")).to_be_visible()
    expect(other.locator("#c0-1.opens")).to_be_visible()
    expect(other.locator("#note")).to_be_empty()
    other.close()


def test_a_new_mark_marks_the_masters_above(editing: Page) -> None:
    """With the tick, a mark of a key marks the master that it is under; without, it does not."""
    editing.get_by_label("New key", exact=True).fill("Q")
    editing.get_by_label("under", exact=True).fill("T")
    editing.get_by_role("button", name="Add the key").click()
    editing.get_by_label("New door", exact=True).fill("Aft store")
    editing.get_by_role("button", name="Add the door").click()
    expect(editing.get_by_role("rowheader", name="Aft store")).to_be_visible()
    editing.get_by_role("grid").focus()
    editing.keyboard.press("Control+Home")
    for _ in range(3):
        editing.keyboard.press("ArrowRight")
    expect(editing.locator("#here")).to_contain_text("Key Q does not open Aft store.")
    editing.keyboard.press("Space")
    expect(editing.locator("#c0-4.opens")).to_be_visible()
    editing.keyboard.press("Control+z")
    expect(editing.locator("#c0-4.opens")).to_have_count(0)
    editing.get_by_label("a new mark also marks").uncheck()
    editing.get_by_role("grid").focus()
    editing.keyboard.press("Space")
    expect(editing.locator("#c0-3.opens")).to_be_visible()
    expect(editing.locator("#c0-4.opens")).to_have_count(0)
