"""One page that answers: was the plan followed, and what went wrong?"""

from collections.abc import Iterator

from django.utils.translation import gettext
from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import SMALL_QUIET, STRONG
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.rows import ALARM, LINK, PLAIN, Column, Line, Row, RowTable, Words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.counts import Counts, PointCount
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY = "summary"
TITLE = own("What this period shows")
COLUMNS = (
    Column("Control point", 4.3),
    Column("done", 1, right=True),
    Column("✓ met", 1.45, right=True),
    Column("≈ close", 1.1, right=True),
    Column("✗ breached", 1.45, right=True),
    Column("? unproven", 1.45, right=True),
    Column("not judged", 1.4, right=True),
    Column("missed", 1.1, right=True),
    Column("amended", 1.3, right=True),
)


def summary(counts: Counts, sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    yield words(_in_a_sentence(counts), STRONG)
    yield Spacer(1, 6)
    if counts.points:
        yield RowTable(COLUMNS, [*map(_row, counts.points), _total(counts.points)], sheet.paper.text_height)
        yield Spacer(1, 4)
        yield words(
            own(
                "A check counts once, under the gravest of its rulings and in its last version. “Close”: met, but past "
                "the target that warns before the limit. “Not judged”: the plan sets no limit for it, or the moment "
                "that the limit speaks of had not come."
            ),
            SMALL_QUIET,
        )
    yield Heading(own("Deviations and days"), "summary-days", 1)
    yield Facts(
        (
            ("Deviations", _deviations(counts)),
            ("Missed checks", _missed(counts)),
            ("Days", _days(counts)),
            ("Batches begun", str(counts.batches_begun)),
            ("Records", _records(counts)),
        )
    )


def _in_a_sentence(counts: Counts) -> str:
    critical = [point for point in counts.points if point.is_critical]
    wrong = sum(point.breached + point.unproven for point in critical)
    done, missed = sum(p.done for p in critical), sum(p.missed for p in critical)
    if not done and not missed:
        return gettext("No check of a critical control point fell in this period.")
    if not wrong and not missed:
        said = gettext("All {done} checks of critical control points were done; none was breached or left unproven.")
        return said.format(done=done)
    said = gettext(
        "Of {done} checks done at critical control points {wrong} were breached or left unproven; {missed} more were "
        "missed."
    )
    return said.format(done=done, wrong=wrong, missed=missed)


def _deviations(counts: Counts) -> str:
    said = gettext("{opened} opened and {closed} closed in the period; {open} open when this pack was made")
    return said.format(opened=counts.deviations_opened, closed=counts.deviations_closed, open=counts.deviations_open)


def _missed(counts: Counts) -> str:
    if not counts.missed:
        text = gettext("none")
    else:
        text = gettext("{missed}, of which {bare} still lack a reason").format(
            missed=counts.missed, bare=counts.missed_without_reason
        )
    more = gettext("{count} more were due and not yet done or flagged").format(count=counts.still_due)
    return f"{text}; {more}" if counts.still_due else text


def _days(counts: Counts) -> str:
    text = gettext("{signed} of {days} signed off, {reviewed} reviewed by a second person").format(
        signed=counts.days_signed_off, days=counts.days, reviewed=counts.days_reviewed
    )
    if not counts.days_changed:
        return text
    later = gettext("on {count} something was entered after the last signature").format(count=counts.days_changed)
    return f"{text}; {later}"


def _records(counts: Counts) -> str:
    if not counts.records:
        return gettext("none")
    said = gettext("{records}, of which {amendments} are amendments")
    return said.format(records=counts.records, amendments=counts.amendments)


def _row(point: PointCount) -> Row:
    return Row(
        (
            Line(
                (
                    Words(point.title, LINK, point.key),
                    str(point.done),
                    str(point.met),
                    str(point.close),
                    _alarming(point.breached),
                    _alarming(point.unproven),
                    str(point.unjudged),
                    _alarming(point.missed),
                    str(point.amended),
                )
            ),
        )
    )


def _alarming(count: int) -> Words:
    return Words(str(count), ALARM if count else PLAIN)


def _total(points: tuple[PointCount, ...]) -> Row:
    columns = ("done", "met", "close", "breached", "unproven", "unjudged", "missed", "amended")
    sums = (str(sum(getattr(point, name) for point in points)) for name in columns)
    return Row((Line(tuple(Words(text, STRONG_FACE) for text in (gettext("All"), *sums))),))
