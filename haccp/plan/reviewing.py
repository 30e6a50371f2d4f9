"""When a review of the plan falls due: a pure computation."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta

# How soon a review follows what called for it: common practice, no source.
WITHIN = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Occasion:
    """Something that happened and makes a review due on its day. known_on: when the dairy learned of it, if later."""

    on: date
    words: str
    known_on: date | None = None


@dataclass(frozen=True, slots=True)
class ReviewDue:
    """reasons: what makes it due, the earliest first. called_on: when that was known; None for the regular review."""

    on: date
    reasons: tuple[str, ...]
    called_on: date | None = None

    def window(self, zone: ZoneInfo, *, before_s: float, grace_s: float) -> tuple[datetime, datetime, datetime]:
        """From when it may be done, by when it is due, and from when it counts as missed.

        The regular review is due by the end of its day; one that was called for, WITHIN that of its call.
        """
        day = self.on if self.called_on is None else self.called_on + WITHIN
        due_at = datetime.combine(day + timedelta(days=1), time.min, tzinfo=zone)
        opens_at = due_at - timedelta(seconds=before_s)
        if self.called_on is not None:
            opens_at = datetime.combine(self.called_on, time.min, tzinfo=zone)
        return opens_at, due_at, due_at + timedelta(seconds=grace_s)

    def is_overdue(self, today: date) -> bool:
        return self.on < today


def review_due(
    *, in_force_since: date, reviewed_on: Iterable[date], every_months: int, occasions: Iterable[Occasion]
) -> ReviewDue:
    """The next review of a plan.

    It falls due every_months after the plan came into force or was last reviewed, whichever is later (a 29 February
    counts to the 28th), and on the day of any occasion after that. An occasion on the day of the review itself was
    there to be looked at.
    """
    since = max([in_force_since, *reviewed_on])
    regular = since + relativedelta(months=every_months)
    months = "yearly" if every_months == 12 else f"{every_months}-monthly"
    earlier = sorted(
        (occasion for occasion in occasions if since < occasion.on <= regular), key=lambda one: (one.on, one.words)
    )
    if not earlier:
        return ReviewDue(regular, (f"the {months} review",))
    called_on = max(earlier[0].on, earlier[0].known_on or earlier[0].on)
    return ReviewDue(earlier[0].on, tuple(one.words for one in earlier), called_on)
