"""Your own unit in a step, and the code of a block, in a browser: a photo is covered before it is sent and stands beside its step;
a code one short says so while it is typed."""

from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.test_jobs import go
from tests.browser.test_machine import coordinator, philippa
from tests.browser.test_whole_job import SITE, passphrase

__all__ = ["coordinator", "passphrase", "philippa"]  # fixtures
PROCEDURE = "P09"


def a_photo(folder: Path) -> Path:
    place = folder / "taken.png"
    Image.new("RGB", (1200, 800), "#dd8844").save(place)
    return place


def test_a_photo_is_covered_by_keyboard_before_it_is_kept_and_stands_beside_its_step(
    coordinator: Page, tmp_path: Path
) -> None:
    page = coordinator
    page.goto(f"/{SITE}/procedures/{PROCEDURE}/photo/")
    page.locator("main [name=step]").select_option(index=1)
    page.locator("main [name=photo]").set_input_files(a_photo(tmp_path))
    expect(page.locator("canvas[data-shows]")).to_be_visible()
    first = page.locator("main [name=cover]").first
    first.focus()
    page.keyboard.press("Space")
    expect(first).to_be_checked()
    box, shown = page.locator(".covers-grid").bounding_box(), page.locator("canvas[data-shows]").bounding_box()
    assert box and shown and abs(box["width"] - shown["width"]) < 2 and abs(box["height"] - shown["height"]) < 2
    page.locator("main [name=says]").fill("The jets, all running")
    page.get_by_role("button", name="Keep the photo").click()
    page.wait_for_url(f"**/procedures/{PROCEDURE}/")
    picture = page.get_by_alt_text("The jets, all running").first
    picture.scroll_into_view_if_needed()
    expect(picture).to_be_visible()
    seen = picture.evaluate(
        """(img) => img.decode().then(() => { const c = document.createElement("canvas"); c.width = img.naturalWidth;
        c.height = img.naturalHeight; const d = c.getContext("2d"); d.drawImage(img, 0, 0);
        return [[20, 20], [c.width - 20, c.height - 20]].map(([x, y]) => d.getImageData(x, y, 1, 1).data[0]); })"""
    )
    assert seen[0] < 128 < seen[1]


def test_a_code_is_counted_as_it_is_typed(philippa: Page) -> None:
    """The walk round of the demo says: eight characters, the point counted."""
    go(philippa, "Start a job")
    field, told = philippa.locator("main [name=block_code]"), philippa.locator("#div_id_block_code output")
    for typed, says in (
        ("1.2272", "6 of 8 characters."),
        ("1.2272-", "one short: look for a blank"),
        ("1.2272-A", "8 of 8 characters."),
    ):
        field.fill(typed)
        expect(told).to_contain_text(says)
    field.fill("1.2272-AB")
    expect(told).to_contain_text("9 of 8 characters, too many.")
