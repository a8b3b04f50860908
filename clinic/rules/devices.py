"""What a browser says of itself, in plain words: enough for somebody to tell their own tablet from a stranger's computer.

It is a hint: browsers write what they like there. The first word found wins, because most browsers name others too."""

BROWSERS = (
    ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser", "Samsung Internet"), ("Firefox", "Firefox"), ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari"),
)  # fmt: skip
SYSTEMS = (
    ("iPhone", "an iPhone"), ("iPad", "an iPad"), ("Android", "Android"), ("CrOS", "a Chromebook"), ("Windows", "Windows"),
    ("Macintosh", "a Mac"), ("Linux", "Linux"),
)  # fmt: skip


def device_in_words(browser: str) -> str:
    """“Firefox on Windows”; “a browser” where nothing is known."""
    name = next((said for word, said in BROWSERS if word in browser), "a browser")
    system = next((said for word, said in SYSTEMS if word in browser), "")
    return f"{name} on {system}" if system else name
