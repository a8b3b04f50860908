"""How days are written and read. A month always has its name, because 03/04 is not evidence."""

DATE_FORMAT = "j F Y"
SHORT_DATE_FORMAT = "j M Y"
TIME_FORMAT = "H:i"
DATETIME_FORMAT = "j F Y, H:i"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
DATE_INPUT_FORMATS = ["%d %b %Y", "%d %B %Y", "%Y-%m-%d"]
TIME_INPUT_FORMATS = ["%H:%M"]
