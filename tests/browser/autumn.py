"""The night on which the clock was last put back in Paris: 03:00 becomes 02:00 (Directive 2000/84/EC, 01:00 UTC on
the last Sunday of October)."""

from datetime import UTC, datetime, timedelta


def last_change_back(now: datetime | None = None) -> datetime:
    now = now or datetime.now(UTC)
    year = now.year if now > _change(now.year) + timedelta(days=1) else now.year - 1
    return _change(year)


def _change(year: int) -> datetime:
    last_day = datetime(year, 10, 31, 1, 0, tzinfo=UTC)
    return last_day - timedelta(days=(last_day.weekday() + 1) % 7)
