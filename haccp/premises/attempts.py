"""Wrong passwords at signing, counted: after too many, none is looked at for a while.

Counted in the cache, since the refused action's transaction is undone. Every web process shares it where a broker is
configured; without one there is one process. While the broker is gone each process counts by itself, so that a day can
still be signed and passwords still cannot be tried without end.
"""

import logging
from collections.abc import Callable

from django.core.cache import BaseCache, caches
from redis.exceptions import RedisError

from haccp.premises.errors import ActionError

MOST = 8
WINDOW_S = 15 * 60


log = logging.getLogger(__name__)
SHARED, OWN = "default", "own"


def refuse_if_locked(what: str, whose: object, *, field: str = "") -> None:
    """Raises ActionError after MOST wrong ones within WINDOW_S."""
    key = _key(what, whose)
    if any(_tried(name, lambda cache: int(cache.get(key, 0)), 0) >= MOST for name in (SHARED, OWN)):
        raise ActionError(
            "Too many wrong ones: wait a quarter of an hour, then try again. Nothing you typed elsewhere is lost.",
            field=field,
        )


def failed(what: str, whose: object) -> None:
    key = _key(what, whose)
    if not _tried(SHARED, lambda cache: _count(cache, key), 0):
        _count(caches[OWN], key)


def forget(what: str, whose: object) -> None:
    for name in (SHARED, OWN):
        _tried(name, lambda cache: int(cache.delete(_key(what, whose))), 0)


def _count(cache: BaseCache, key: str) -> int:
    cache.add(key, 0, WINDOW_S)
    try:
        return cache.incr(key)
    except ValueError:  # ran out between the two
        cache.set(key, 1, WINDOW_S)
        return 1


def _tried(name: str, ask: Callable[[BaseCache], int], otherwise: int) -> int:
    """What the cache says, or the other value while it cannot be reached."""
    try:
        return ask(caches[name])
    except RedisError as error:
        log.warning("The cache cannot be reached, so each process counts wrong passwords by itself: %s", error)
        return otherwise


def _key(what: str, whose: object) -> str:
    return f"attempts:{what}:{whose}"
