"""Run with the settings of a stack: opens a dairy whose room check of this morning nobody did."""

import os
from datetime import UTC, datetime, timedelta

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")
django.setup()

from tests.dairy import open_dairy  # noqa: E402  (needs the apps)

open_dairy(at=datetime.now(UTC) - timedelta(days=2))
