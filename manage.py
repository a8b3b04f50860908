#!/usr/bin/env python
"""Runs the register's commands: `manage.py help` lists them, each with an example under `--help`."""

import gc
import os
import sys

from django.core.management import execute_from_command_line

if __name__ == "__main__":
    gc.set_threshold(100_000, 50, 100)  # a page makes many small objects and few circles: a fifth less processor time
    os.umask(0o077)  # whatever is made from here on is for its owner only
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    execute_from_command_line(sys.argv)
