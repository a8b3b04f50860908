"""The register's own settings, for a test run: its own var folder, quick passwords, loud template faults."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

VAR = Path(tempfile.mkdtemp(prefix="millroom-tests-"))
atexit.register(shutil.rmtree, VAR, ignore_errors=True)
os.environ["MILLROOM_VAR"] = str(VAR)
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's synchronous door runs an event loop

from clinic.settings import *  # noqa: E402, F403 - the var folder above has to be named first
from clinic.settings import DATABASES, TEMPLATES  # noqa: E402
from tests.misspelt import MARKER  # noqa: E402

# a file, not memory: tests of concurrency open it from several threads
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": str(VAR / "test.sqlite3")}
    # what a test commits need not outlive a power cut (as in tests.databases for PostgreSQL)
    DATABASES["default"]["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"

TEMPLATES[0]["OPTIONS"]["string_if_invalid"] = MARKER
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
WHITENOISE_AUTOREFRESH = True
