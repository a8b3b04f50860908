#!/usr/bin/env python
"""Runs the register's commands: `manage.py help` lists them, each with an example under `--help`."""

import os
import sys

from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.umask(0o077)  # whatever is made from here on is for its owner only
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    execute_from_command_line(sys.argv)
