"""Remakes the README's pictures from the demo practice: `python -m tests.pictures`. Needs Chromium and pdftoppm.

A picture of the bench page on a tablet, and one of the page that a binder opens with.
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.bench import begin
from tests.browser.conftest import ADDRESS, CHROMIUM, FLAGS, ROOT, START, TABLET, until_it_answers

PICTURES = ROOT / "fixtures" / "pictures"
PASSPHRASE = re.compile(r"^\s{4}([a-z]+(?:-[a-z]+){4})\s*$", re.M)
BINDER_PAGE = 1


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as var:
        environment = os.environ | {"MILLROOM_VAR": var, "PYTHONUNBUFFERED": "1"}
        server = subprocess.Popen(START, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        try:
            printed = until_it_answers(server)
            take(ADDRESS.findall(printed)[-1].rstrip("/"), PASSPHRASE.findall(printed)[0])
            draw_binder(environment)
        finally:
            server.terminate()
            server.wait(20)


def take(home: str, word: str) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_context(base_url=home, viewport=TABLET).new_page()
        page.goto("/sign-in/")
        page.locator("input[name=username]").fill("philippa.thorne")
        page.locator("input[name=password]").fill(word)
        page.locator("input[name=password]").press("Enter")
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        at_the_bench(page)
        browser.close()


def at_the_bench(page: Page) -> None:
    """Nine steps into cleaning a chamber."""
    page.goto("/high-street/people/")
    person = (
        page.get_by_role("link", name="Zoë Ångström-Łuczak", exact=True)
        .get_attribute("href")
        .rstrip("/")
        .rsplit("/", 1)[-1]
    )
    begin(page, "high-street", person, "Chamber cleaning around sharp tools (P06)", "Real work", "unit 2")
    for mark in ("alone", "alone", "not needed", "alone", "alone", "alone", "prompted", "alone"):
        page.get_by_role("button", name=re.compile(f"^{mark}")).click()
    page.screenshot(path=str(PICTURES / "bench.png"))


def draw_binder(environment: dict[str, str]) -> None:
    """The opening page of the binder that the command makes from the same practice."""
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "binder.pdf"
        make = [sys.executable, "manage.py", "binder", "--site", "high-street", "--out", str(pdf)]
        subprocess.run(make, cwd=ROOT, env=environment, check=True, capture_output=True)
        page = ["-f", str(BINDER_PAGE), "-l", str(BINDER_PAGE), "-singlefile"]
        subprocess.run(["pdftoppm", "-png", "-r", "90", *page, str(pdf), str(PICTURES / "binder")], check=True)


if __name__ == "__main__":
    main()
