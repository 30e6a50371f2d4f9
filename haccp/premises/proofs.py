"""A proof of who somebody is, given a moment ago by other means than the password, and good for one signature.

Kept in the cache as its hash: every web process shares it where a broker is configured; without one there is one.
"""

import hashlib
import secrets

from django.core.cache import cache

from haccp.premises.models import User

PREFIX = "passkey:"
GOOD_FOR_S = 120


def give(user: User) -> str:
    """A word that stands in the place of the password, once, within GOOD_FOR_S."""
    word = PREFIX + secrets.token_urlsafe(32)
    cache.set(_key(user, word), True, GOOD_FOR_S)
    return word


def take(user: User, word: str) -> bool:
    """Whether the word was given to this person and not used yet; it is used now."""
    return word.startswith(PREFIX) and bool(cache.delete(_key(user, word)))


def _key(user: User, word: str) -> str:
    return f"proof:{user.pk}:{hashlib.sha256(word.encode()).hexdigest()}"
