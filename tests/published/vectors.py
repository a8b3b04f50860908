"""The published check values, as plain data; each test that uses one names its row, its source and its mark."""

import json
from pathlib import Path
from typing import Any

VECTORS: dict[str, Any] = json.loads(Path(__file__).with_name("vectors.json").read_text(encoding="utf-8"))
