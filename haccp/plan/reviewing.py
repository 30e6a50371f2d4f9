"""When a review of the plan falls due: a pure computation."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta


@dataclass(frozen=True, slots=True)
class Occasion:
    """Something that happened and makes a review due on its day."""

    on: date
    words: str


@dataclass(frozen=True, slots=True)
class ReviewDue:
    """reasons: what makes it due, the earliest first."""

    on: date
    reasons: tuple[str, ...]

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
    due = [(occasion.on, occasion.words) for occasion in occasions if occasion.on > since]
    earlier = sorted(one for one in due if one[0] <= regular)
    if not earlier:
        return ReviewDue(regular, (f"the {months} review",))
    return ReviewDue(earlier[0][0], tuple(words for _, words in earlier))
