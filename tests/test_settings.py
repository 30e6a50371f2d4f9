"""What the shipped settings promise, where the tests run with others."""

from haccp.config import settings as shipped


def test_passwords_are_hashed_with_argon2() -> None:
    """OWASP Password Storage Cheat Sheet: Argon2id first; the tests' own quick hasher must never ship."""
    assert shipped.PASSWORD_HASHERS[0] == "django.contrib.auth.hashers.Argon2PasswordHasher"
    assert not [name for name in shipped.PASSWORD_HASHERS if "MD5" in name or "SHA1" in name]
