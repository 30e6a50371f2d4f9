"""A cheap hash for the passwords of signatures: what is tested here is who signs what."""

from typing import Any

import pytest


@pytest.fixture(autouse=True)
def _cheap_passwords(settings: Any) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
