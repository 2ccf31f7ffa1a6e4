"""Takes the pictures of the page that stand in the guide: ``python -m tests.web.pictures``.

The example job, a ledger made for the tests, a browser of this machine; light upright and lying,
some dark. Nothing moves while a picture is taken.
"""

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from pinloom.workflow.demo import demo
from tests import machine
from tests.web.kit import serving
from tests.web.ledgers import small_ledger
from tests.workflow.kit import pinned
from tests.workflow.tiny import tiny_job

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
LYING, UPRIGHT = (1280, 800), (800, 1280)
JOB = "job/alder-quay"


def _mark_five(page: Page) -> None:
    """Five change keys on hardware that holds four."""
    page.locator("#board[data-ready]").wait_for()
    page.get_by_role("grid").focus()
    page.evaluate(
        """text => {
          const data = new DataTransfer();
          data.setData("text/plain", text);
          document.getElementById("board").dispatchEvent(
            new ClipboardEvent("paste", { clipboardData: data, bubbles: true }));
        }""",
        "door\tT\tD\tE\nLoft 4\tx\tx\t\nLoft 5\tx\t\tx\n",
    )
    page.locator("#verdict[data-answer=impossible][data-final=yes]").wait_for()


def _two_chambers(page: Page) -> None:
    for number in (1, 2):
        page.get_by_role("heading", name=f"Chamber {number}").wait_for()
        page.keyboard.press("Enter")
    page.get_by_role("heading", name="Chamber 3").wait_for()


def _grid(page: Page) -> None:
    page.locator("#board[data-ready]").wait_for()


def _nothing(_: Page) -> None:
    """The page as it comes."""


SHOTS: tuple[tuple[str, str, tuple[int, int], str, Callable[[Page], None]], ...] = (
    ("page-job", JOB, LYING, "light", _nothing),
    ("page-chart", f"{JOB}/chart", LYING, "light", _grid),
    ("page-branches", f"{JOB}/branches", LYING, "light", _nothing),
    ("page-edit", "job/tiny/wanted", LYING, "light", _mark_five),
    ("page-try", f"{JOB}/try?door=Loft%202&key=SL3", UPRIGHT, "light", _nothing),
    ("page-bench", f"{JOB}/bench/1", UPRIGHT, "dark", _two_chambers),
    ("page-audit", f"{JOB}/audit", LYING, "light", _nothing),
    ("page-lost", f"{JOB}/lost?key=warden", LYING, "light", _nothing),
    ("page-new", "new", LYING, "dark", _nothing),
    ("page-desk", "desk?find=sail", LYING, "light", _nothing),
)


def main() -> None:
    """Take them all."""
    with tempfile.TemporaryDirectory(prefix="pinloom-") as name, sync_playwright() as playwright:
        folder, work = Path(name), Path(name) / "work"
        work.mkdir()
        jobs = folder / "jobs"
        demo(jobs)
        tiny_job(jobs / "tiny", work)
        pinned(work, out=folder / "office")
        ledger = small_ledger(folder / "ledger.db", folder / "office")
        browser = playwright.chromium.launch(
            executable_path=machine.chromium(), args=list(machine.CHROMIUM_FLAGS)
        )
        with serving(jobs, "--ledger", ledger, "--clerk", "Desk") as server:
            page = browser.new_page(reduced_motion="reduce")
            page.goto(server.address)
            page.screenshot(path=PICTURES / "page-locked.png")
            page.get_by_label("Secret").fill(server.secret)
            page.get_by_role("button", name="Open the page").click()
            page.get_by_role("heading", name="Jobs", exact=True).wait_for()
            for picture, path, (width, height), scheme, ready in SHOTS:
                page.set_viewport_size({"width": width, "height": height})
                page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
                page.goto(server.address + path)
                page.wait_for_load_state("load")
                ready(page)
                page.screenshot(path=PICTURES / f"{picture}.png")
        browser.close()
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
