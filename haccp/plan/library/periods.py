"""Spans of the calendar in seconds: the longest that they can be, so that a floor is never understated."""

import datetime as dt

DAY_S = 86_400


def longest_s(unit: str, count: int) -> float:
    """unit: "months" or "years". The longest of all starts in a leap year's neighbourhood, in seconds."""
    months = count * (12 if unit == "years" else 1)
    starts = [dt.date(year, month, 1) for year in range(2023, 2028) for month in range(1, 13)]
    return float(max((_later(start, months) - start).days for start in starts) * DAY_S)


def _later(day: dt.date, months: int) -> dt.date:
    total = day.year * 12 + day.month - 1 + months
    return dt.date(total // 12, total % 12 + 1, 1)
