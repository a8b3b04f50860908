"""A hand at the keyboard and the glass: what it does is counted, so that a journey can be held to its goal."""

from dataclasses import dataclass, field

from playwright.sync_api import Locator, Page


@dataclass
class Hand:
    """`taps`: on buttons, links, boxes; two on a list to choose from. `keys`: letters, and one to get to the next field."""

    page: Page
    taps: int = 0
    keys: int = 0
    pages: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("framenavigated", lambda frame: self.saw(frame.url) if frame == self.page.main_frame else None)

    def saw(self, url: str) -> None:
        if "#" not in url and url != "about:blank":
            self.pages.append(url)

    def go(self, link: str | Locator) -> None:
        """By a link or button that leads to another page."""
        place = self.page.get_by_role("link", name=link).first if isinstance(link, str) else link
        self.taps += 1
        with self.page.expect_navigation():
            place.click()

    def press(self, words: str) -> None:
        self.go(self.page.get_by_role("button", name=words, exact=True))

    def type(self, name: str | Locator, words: str) -> None:
        place = self.page.locator(f"main [name={name}]") if isinstance(name, str) else name
        place.fill(words)
        self.keys += len(words) + 1

    def tap(self, place: Locator) -> None:
        """What stays on the page."""
        place.click()
        self.taps += 1

    def tick(self, place: Locator) -> None:
        place.check()
        self.taps += 1

    def choose(self, place: Locator, value: str) -> None:
        place.select_option(value)
        self.taps += 2

    def cells(self, column: str) -> list[Locator]:
        """Those of a table that somebody fills in, from above."""
        return self.page.locator(f"main form [name$='-{column}']:not([type=hidden]):not([name^=all-])").all()
