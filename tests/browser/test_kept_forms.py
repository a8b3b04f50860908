"""What is typed into a form stays on the tablet until the register has it: through a reload, a dead network, the idle lock and a
second try. What is secret never stays."""

import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Register
from tests.browser.test_machine import UNIT, choose, coordinator, enter_tool
from tests.browser.test_whole_job import SITE, SignIn, passphrase

__all__ = ["coordinator", "passphrase"]  # fixtures
TOOL = "D12-kept"
SEND_AGAIN = "What you typed is kept on this tablet. Send again when the network is back."


@pytest.fixture
def page(open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str) -> Page:
    page = open_context().new_page()
    sign_in(page, "philippa.thorne", passphrase)
    return page


def count(register: Register, table: str) -> int:
    with sqlite3.connect(register.var / "register.sqlite3") as database:
        return int(database.execute(f"select count(*) from {table}").fetchone()[0])


def sent_after_a_dead_network(page: Page, button: str) -> None:
    """Said that it is kept while there is no network, and sent with it: both tries go out under one id."""
    page.context.set_offline(True)
    page.get_by_role("button", name=button).click()
    expect(page.get_by_text(SEND_AGAIN)).to_be_visible()
    page.context.set_offline(False)
    here = page.url
    page.get_by_role("button", name=button).click()
    page.wait_for_url(lambda url: url != here)


def fill_in_a_swap(page: Page) -> None:
    """Up to the opening of the door; at a position where nothing sits."""
    page.goto(f"/{SITE}/upkeep/tools/")
    page.get_by_role("link", name=f"Swap a tool in {UNIT}").click()
    page.locator("main [name=position]").fill("9")
    choose(page, tool=TOOL, material="pre-sintered zirconia", way="dry", driver="driver A")
    for name in ("still", "nobody_can_start", "protected"):
        page.locator(f"main [name={name}]").check()
    page.locator("main [name=counted_out]").fill("6")


def test_a_swap_half_filled_in_survives_a_reload_a_check_and_a_dead_network(
    coordinator: Page, page: Page, register: Register
) -> None:
    enter_tool(coordinator, TOOL, positions="9")
    before = count(register, "clinic_toolmounted")
    fill_in_a_swap(page)
    page.reload()
    expect(page.get_by_text("Not sent yet: what you typed here")).to_be_visible()
    expect(page.locator("main [name=position]")).to_have_value("9")
    expect(page.locator("main [name=still]")).to_be_checked()
    expect(page.locator("main [name=clicked]")).not_to_be_checked()

    page.get_by_role("button", name="Check the choice").click()
    expect(page.locator("main")).to_contain_text("Tool, position and driver fit.")
    expect(page.get_by_text("Not sent yet: what you typed here")).to_be_hidden()
    page.locator("main [name=clicked]").check()
    page.locator("main [name=counted_in]").fill("6")
    sent_after_a_dead_network(page, "Save the swap")
    assert count(register, "clinic_toolmounted") == before + 1


def test_a_swap_that_is_refused_says_so_at_its_fields_and_stays(page: Page) -> None:
    page.goto(f"/{SITE}/upkeep/tools/")
    page.get_by_role("link", name=f"Swap a tool in {UNIT}").click()
    page.locator("main [name=counted_out]").fill("5")
    page.get_by_role("button", name="Save the swap").click()
    expect(page.locator("#div_id_position")).to_contain_text("Write which position.")
    expect(page.locator("main [name=counted_out]")).to_have_value("5")


def test_an_answer_of_the_walk_round_survives_a_reload_and_a_dead_network(page: Page, register: Register) -> None:
    before = count(register, "clinic_sitefactvalue")
    page.goto(f"/{SITE}/procedures/site-facts/answer/?question=2")
    field = page.locator("main textarea").first
    page.evaluate(
        "document.querySelectorAll('main details').forEach((each) => { each.open = true; })"
    )  # what is answered is folded
    field.fill("the drawer under the bench, left")
    page.reload()
    expect(page.get_by_text("Not sent yet: what you typed here")).to_be_visible()
    expect(page.locator("main textarea").first).to_have_value("the drawer under the bench, left")
    sent_after_a_dead_network(page, "Record and go on")
    assert count(register, "clinic_sitefactvalue") == before + 1


def test_a_sheet_of_paper_half_typed_in_survives_a_reload_and_a_dead_network(page: Page, register: Register) -> None:
    before = count(register, "training_sheetentered")
    page.goto(f"/{SITE}/sheets/")
    page.locator("main [name=number]").fill("no. 0009")
    page.get_by_role("button", name="Go on").click()
    page.locator("main [name=notes]").fill("The network was down.")
    page.locator("main [name=began]").fill("10:00")
    for step in page.locator("main fieldset.field").all():
        if step.get_by_label("alone", exact=True).count():
            step.get_by_label("alone", exact=True).check()
    page.reload()
    expect(page.locator("main [name=notes]")).to_have_value("The network was down.")
    for name, which in (("person", "Noor Haddad"), ("observer", "Philippa Thorne")):
        page.locator(f"main [name={name}]").select_option(label=which)
    page.locator("main [name=equipment]").select_option(index=1)
    page.locator("main [name=day]").fill(yesterday())
    page.locator("main [name=ended]").fill("10:25")
    page.get_by_label("Practice", exact=True).check()
    page.get_by_label("Real work", exact=True).check()
    sent_after_a_dead_network(page, "Enter the sheet")
    assert count(register, "training_sheetentered") == before + 1
    expect(page.locator("h1")).to_have_text("Sheet 0009 waits for Philippa Thorne.")


def yesterday() -> str:
    return f"{datetime.now(UTC) - timedelta(days=1):%-d %b %Y}"


def locks_in(page: Page) -> int:
    """Seconds, as the register says them: fewer than five minutes where the last touch was not written down."""
    return int(str(page.locator("[data-locks-in]").get_attribute("data-locks-in")))


def test_a_page_says_a_minute_before_that_the_tablet_locks_and_a_touch_of_a_sheet_puts_it_off(page: Page) -> None:
    page.clock.install()
    told: list[str] = []
    page.on("request", lambda request: told.append(request.method) if request.url.endswith("/awake/") else None)
    page.goto(f"/{SITE}/procedures/site-facts/answer/?question=2")
    bar = page.get_by_text("This tablet locks itself at")
    page.clock.fast_forward((locks_in(page) - 90) * 1000)
    expect(bar).to_be_hidden()
    page.clock.fast_forward("00:45")
    expect(bar).to_be_visible()
    assert told == []  # nothing but a touch is told
    with page.expect_response("**/awake/"):
        page.locator("h1").click()
    expect(bar).to_be_hidden()
    assert told == ["POST"]


def test_a_page_that_holds_nothing_warns_too_and_tells_nothing(page: Page) -> None:
    page.clock.install()
    told: list[str] = []
    page.goto(f"/{SITE}/today/")
    page.on("request", lambda request: told.append(request.url) if request.method == "POST" else None)
    page.clock.fast_forward((locks_in(page) - 45) * 1000)
    expect(page.get_by_text("Open or save something to go on.")).to_be_visible()
    page.locator("h1").click()
    page.clock.fast_forward("01:00")
    expect(page.get_by_text("This tablet is locked.")).to_be_visible()
    assert told == []


def test_a_plain_form_with_many_boxes_survives_a_reload_and_a_dead_network(
    coordinator: Page, register: Register
) -> None:
    """A taught session: which topics, and who was there."""
    before = count(register, "training_taughtsession")
    coordinator.goto(f"/{SITE}/procedures/taught/new/")
    topics, people = coordinator.locator("main [name=topics]"), coordinator.locator("main [name=attendees]")
    for box in (topics.nth(0), people.nth(1), people.nth(3)):
        box.check()
    coordinator.locator("main [name=summary]").fill("What each label says.")
    coordinator.reload()
    expect(coordinator.get_by_text("Not sent yet: what you typed here")).to_be_visible()
    assert [people.nth(n).is_checked() for n in range(4)] == [False, True, False, True]
    expect(coordinator.locator("main [name=summary]")).to_have_value("What each label says.")
    sent_after_a_dead_network(coordinator, "Record the session")
    assert count(register, "training_taughtsession") == before + 1
    coordinator.goto(f"/{SITE}/procedures/taught/new/")
    expect(coordinator.get_by_text("Not sent yet: what you typed here")).to_be_hidden()


def test_a_form_whose_button_says_what_it_was_is_refused_in_words_and_sent_with_it(
    page: Page, register: Register
) -> None:
    before = count(register, "clinic_use")
    with sqlite3.connect(register.var / "register.sqlite3") as database:
        asked = "select id from clinic_equipment where kind = 'milling unit' and label like 'unit 1%'"
        (unit,) = database.execute(asked).fetchone()
    page.goto(f"/{SITE}/upkeep/unit/{UUID(unit)}/use/")
    page.locator("main [name=units]").fill("0")
    tap = page.locator("main form button[name=what]").first
    tap.click()
    expect(page.locator("#div_id_units .error").first).to_be_visible()
    page.locator("main [name=units]").fill("4")
    tap.click()
    expect(page.get_by_text("Recorded: 4 on")).to_be_visible()
    assert count(register, "clinic_use") == before + 1


def ids_of(register: Register, asked: str) -> UUID:
    with sqlite3.connect(register.var / "register.sqlite3") as database:
        return UUID(database.execute(asked).fetchone()[0])


def test_a_form_with_a_password_keeps_all_but_the_password_through_reload_lock_and_dead_network(
    page: Page, register: Register, lock: Callable[[Page], None], passphrase: str
) -> None:
    """A withdrawal: nothing but the proof is asked again, and a wrong password is tried once."""
    before, wrong = count(register, "training_withdrawal"), "clinic_signingattempt where succeeded = 0"
    tried = count(register, wrong)
    ruth = ids_of(register, "select id from clinic_person where family_name = 'Abney'")
    page.goto(f"/{SITE}/withdraw/{ruth}/P14/")
    reason, name, secret = (page.locator(f"main [name={each}]") for each in ("reason", "sign_in_name", "password"))
    reason.fill("Gloves were worn from room to room.")
    name.fill("philippa.thorne")
    secret.fill("not the password at all")
    assert "not the password" not in page.evaluate("JSON.stringify(localStorage)")
    page.reload()
    expect(page.get_by_text("A password or PIN never is: give it again.")).to_be_visible()
    expect(secret).to_have_value("")

    secret.fill("not the password at all")
    page.get_by_role("button", name="Withdraw the sign-off").click()
    expect(page.get_by_text("Name and password do not belong together.").first).to_be_visible()
    assert count(register, wrong) == tried + 1
    lock(page)
    secret.fill(passphrase)
    page.get_by_role("button", name="Withdraw the sign-off").click()
    page.get_by_role("link", name="Sign in again").click()
    page.locator("main [name=username]").fill("philippa.thorne")
    page.locator("main [name=password]").fill(passphrase)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(reason).to_have_value("Gloves were worn from room to room.")
    expect(secret).to_have_value("")
    secret.fill(passphrase)
    sent_after_a_dead_network(page, "Withdraw the sign-off")
    assert count(register, "training_withdrawal") == before + 1
    assert page.evaluate("Object.keys(localStorage)") == []


def test_the_shelf_and_the_messages_of_units_are_kept_too(coordinator: Page) -> None:
    pages = (
        ("stock", {"number": "7"}),
        ("messages", {"shown": "spindle warm", "remedy": "Let it cool for ten minutes."}),
    )
    for page, typed in pages:
        coordinator.goto(f"/{SITE}/upkeep/{page}/")
        for name, words in typed.items():
            coordinator.locator(f"main form[method=post] [name={name}]").fill(words)
        coordinator.reload()
        for name, words in typed.items():
            expect(coordinator.locator(f"main form[method=post] [name={name}]")).to_have_value(words)
