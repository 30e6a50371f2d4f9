"""When a failed delivery is tried again."""

from datetime import timedelta

MOST_ATTEMPTS = 16
_LONGEST = timedelta(hours=6)


def pause_after(attempts: int) -> timedelta | None:
    """1, 2, 4 ... minutes, 6 h at most; None when it is given up (about two days after the first try)."""
    if attempts >= MOST_ATTEMPTS:
        return None
    return min(timedelta(minutes=2 ** (attempts - 1)), _LONGEST)
