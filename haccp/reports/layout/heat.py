"""Heat treatments drawn: the recorder's trace against the limit, with the ruling in words."""

from collections.abc import Iterable, Iterator
from uuid import UUID

from reportlab.platypus import KeepTogether, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.checks.wording import RULING_WORDS
from haccp.drawing.chart import Span
from haccp.drawing.degrees import CELSIUS, FAHRENHEIT
from haccp.drawing.heat_chart import HeatChart, heat_chart
from haccp.drawing.picture import Picture
from haccp.drawing.roles import Role
from haccp.reports.draw.ink import SMALL, SMALL_QUIET
from haccp.reports.draw.marks import Coded, Heading, words
from haccp.reports.gather.heat_treatments import Flaw, HeatTreatment
from haccp.reports.languages import own, wording
from haccp.reports.layout.sheet import CODED_WORDS_ABOVE, Sheet

KEY = "heat"
TITLE = own("Heat treatments")
# As many units of progress as rows of a table take the same time.
TICKS = 20


def heat_section(treatments: Iterable[HeatTreatment], sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    yield words(
        "Drawn from the recorder's own samples, thinned so that no lowest or highest value is lost. Times are local.",
        SMALL_QUIET,
    )
    shown = False
    for treatment in treatments:
        yield KeepTogether([*_treatment(treatment, sheet), Spacer(1, 10)])
        sheet.tick(TICKS)
        shown = True
    if not shown:
        yield words(own("No heat treatment was recorded in this period."))


def _treatment(treatment: HeatTreatment, sheet: Sheet) -> Iterator[Flowable]:
    about = " · ".join(part for part in (treatment.about, treatment.product) if part)
    yield Heading(f"{about} · {sheet.time.moment(treatment.observed_at)}", heat_key(treatment.record_id), 2)
    who = f"Recorder file {treatment.filename}; {treatment.instrument or 'recorder not named'}; {treatment.by}"
    entry = f"{who}; ledger entry {treatment.ref.lstrip('#')}"
    yield Coded(((_ruling(treatment), SMALL), (entry, SMALL_QUIET)), sheet.addresses.record(treatment.record_id))
    if treatment.limit_c is None or "product" not in treatment.roles.values():
        missing = "no limit judged it" if treatment.limit_c is None else "no probe is said to have been in the milk"
        yield words(f"Not drawn: {missing}.", SMALL)
    else:
        yield sheet.fitted(_picture(treatment, treatment.limit_c, sheet), CODED_WORDS_ABOVE)


def heat_key(record_id: UUID) -> str:
    return f"heat-{record_id}"


def _ruling(treatment: HeatTreatment) -> str:
    if not treatment.ruling:
        return "No limit judged this recording."
    shown = RULING_WORDS[treatment.ruling]
    deviation = f" Deviation {treatment.deviation}." if treatment.deviation else ""
    return f"{treatment.limit}: {shown.sign} {shown.word}. {treatment.reason}{deviation}"


def _picture(treatment: HeatTreatment, limit_c: float, sheet: Sheet) -> Picture:
    return heat_chart(
        HeatChart(
            wording=wording(),
            title=f"Heat treatment of {treatment.about}",
            description=treatment.reason,
            trace=treatment.trace,
            roles=treatment.roles,
            limit_c=limit_c,
            zone=sheet.time.zone,
            run_s=treatment.run_s,
            problems=tuple(_span(flaw) for flaw in treatment.flaws),
            air_space_limit_c=treatment.air_space_limit_c,
            layout=sheet.third_of_a_page(CODED_WORDS_ABOVE),
            degrees=FAHRENHEIT if sheet.in_fahrenheit else CELSIUS,
        )
    )


def _span(flaw: Flaw) -> Span:
    is_gap = flaw.kind == "gap"
    label = "no record" if is_gap else f"doubtful: {flaw.kind}"
    return Span(flaw.start_s, flaw.end_s, label, Role.GAP if is_gap else Role.PROBLEM)
