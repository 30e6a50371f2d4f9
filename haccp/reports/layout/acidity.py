"""Acidity curves: the readings of each make against the limits that speak at a given hour."""

from collections.abc import Iterator

from django.utils.translation import gettext
from reportlab.platypus import KeepTogether, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.checks.wording import RULING_WORDS
from haccp.drawing.acidity_chart import AcidityChart, AcidityLimit, acidity_chart
from haccp.drawing.chart import Event
from haccp.reports.draw.ink import SMALL
from haccp.reports.draw.marks import Heading, words
from haccp.reports.gather.acidity_curves import AcidityCurve
from haccp.reports.languages import own, wording
from haccp.reports.layout.sheet import Sheet

KEY = "acidity"
TITLE = own("Acidity of each make")
TICKS = 5
# Later events (a move to another room, weeks on) would press the hours that matter into a corner.
BEYOND_S = 3600.0


def acidity_section(curves: tuple[AcidityCurve, ...], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not curves:
        yield words(own("No make in this period had its acidity followed against time."))
    for curve in curves:
        yield KeepTogether([*_curve(curve, sheet), Spacer(1, 10)])
        sheet.tick(TICKS)


def curve_key(curve: AcidityCurve) -> str:
    return f"curve-{curve.lot}-{curve.quantity}-{curve.since}".replace(" ", "_")


def _curve(curve: AcidityCurve, sheet: Sheet) -> Iterator[Flowable]:
    about = " · ".join(part for part in (curve.lot, curve.product) if part)
    yield Heading(f"{about} · {curve.since} {sheet.time.moment(curve.since_at)}", curve_key(curve), 2)
    for ruling, reason in curve.rulings:
        shown = RULING_WORDS[ruling]
        yield words(f"{shown.sign} {shown.word}. {reason}", SMALL)
    if curve.left_out:
        readings = ", ".join(f"{sheet.time.one_line(at)} {value}" for at, value in curve.left_out)
        left_out = gettext("Not drawn, as the instrument cannot be relied on: %(readings)s.")
        yield words(left_out % {"readings": readings}, SMALL)
    shown_until = max(
        [(at - curve.since_at).total_seconds() for at, _ in curve.points] + [one.elapsed_s for one in curve.limits]
    )
    yield sheet.fitted(
        acidity_chart(
            AcidityChart(
                wording=wording(),
                title=f"{curve.quantity} of {curve.lot}",
                description="; ".join(reason for _, reason in curve.rulings),
                starter_at=curve.since_at,
                times=[at for at, _ in curve.points],
                values=[value for _, value in curve.points],
                limits=tuple(AcidityLimit(one.elapsed_s, one.value, one.at_most) for one in curve.limits),
                events=tuple(
                    Event((at - curve.since_at).total_seconds(), label)
                    for at, label in curve.events
                    if (at - curve.since_at).total_seconds() <= shown_until + BEYOND_S
                ),
                unit=curve.unit,
                since=curve.since,
                layout=sheet.third_of_a_page(),
            )
        )
    )
