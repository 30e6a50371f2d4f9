"""What the shipped settings promise, where the tests run with others."""

import os
import secrets
import subprocess
import sys
from pathlib import Path

from haccp.config import settings as shipped
from tests import ROOT


def test_passwords_are_hashed_with_argon2() -> None:
    """OWASP Password Storage Cheat Sheet: Argon2id first; the tests' own quick hasher must never ship."""
    assert shipped.PASSWORD_HASHERS[0] == "django.contrib.auth.hashers.Argon2PasswordHasher"
    assert not [name for name in shipped.PASSWORD_HASHERS if "MD5" in name or "SHA1" in name]


def test_djangos_own_security_checks_find_nothing(tmp_path: Path) -> None:
    """`check --deploy` as a deployer runs it behind HTTPS: cookies, HSTS, redirect, key, debug."""
    environment = os.environ | {"HTTPS": "1", "DATA_DIR": str(tmp_path), "SECRET_KEY": secrets.token_urlsafe(60)}
    command = [sys.executable, "manage.py", "check", "--deploy", "--tag", "security", "--fail-level", "WARNING"]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
