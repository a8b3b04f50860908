"""How many random examples a test tries: its usual number, or what MILLROOM_EXAMPLES asks for."""

import os


def examples(usual: int) -> int:
    return int(os.environ.get("MILLROOM_EXAMPLES", usual))
