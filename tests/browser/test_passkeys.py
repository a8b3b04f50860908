"""A passkey in a real browser, with an authenticator that the browser itself stands in for (Chrome DevTools Protocol, WebAuthn)."""

import re
from collections.abc import Callable

from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Register

WHO = "moira.trevithick"  # of whom no other test signs in
KEY = {
    "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
    "isUserVerified": True, "automaticPresenceSimulation": True,
}  # fmt: skip


def with_authenticator(page: Page) -> None:
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})


def test_a_passkey_is_made_signs_in_and_is_removed(
    open_context: Callable[..., BrowserContext], sign_in: Callable[[Page, str, str], None], register: Register
) -> None:
    """Browsers take `localhost` for safe without HTTPS (W3C Secure Contexts, 3.1), and a bare number for no name."""
    word = re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1]  # type: ignore[index]
    page = open_context(base_url=register.url.replace("127.0.0.1", "localhost")).new_page()
    with_authenticator(page)
    sign_in(page, WHO, word)
    page.goto("/account/factors/passkey/")
    page.get_by_label("What you call it").fill("my laptop")
    page.get_by_label("Your password").fill(word)
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Make the passkey").click()
    expect(page.locator(".recovery-codes li")).to_have_count(10)
    page.get_by_role("button", name="sign out").click()
    page.get_by_label("Sign-in name").fill(WHO)
    page.get_by_label("Password").fill(word)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("One more proof that it is you.")
    page.get_by_role("button", name="Use a passkey").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)
    page.goto("/account/")
    expect(page.get_by_text("password and passkey “my laptop”")).to_be_visible()
    page.get_by_role("link", name="Remove").click()
    page.get_by_label("Your password").fill(word)
    page.get_by_role("button", name="Remove it").click()
    expect(page.get_by_text("is asked for no more")).to_be_visible()
