"""Wrong passwords at signing, counted: after too many, none is looked at for a while.

Counted in the cache, since the refused action's transaction is undone. Every web process shares it where a broker is
configured; without one there is one process.
"""

from django.core.cache import cache

from haccp.premises.errors import ActionError

MOST = 8
WINDOW_S = 15 * 60


def refuse_if_locked(what: str, whose: object, *, field: str = "") -> None:
    """Raises ActionError after MOST wrong ones within WINDOW_S."""
    if int(cache.get(_key(what, whose), 0)) >= MOST:
        raise ActionError(
            "Too many wrong ones: wait a quarter of an hour, then try again. Nothing you typed elsewhere is lost.",
            field=field,
        )


def failed(what: str, whose: object) -> None:
    cache.add(_key(what, whose), 0, WINDOW_S)
    try:
        cache.incr(_key(what, whose))
    except ValueError:  # ran out between the two
        cache.set(_key(what, whose), 1, WINDOW_S)


def forget(what: str, whose: object) -> None:
    cache.delete(_key(what, whose))


def _key(what: str, whose: object) -> str:
    return f"attempts:{what}:{whose}"
