"""Where to look: the pages of each batch, and of each record that was amended."""

from collections.abc import Iterator

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.index_line import IndexHead, IndexLine
from haccp.reports.draw.marks import Heading, words
from haccp.reports.gather.gathered import Gathered
from haccp.reports.languages import own
from haccp.reports.layout import acidity, heat
from haccp.reports.layout.batches import batch_key
from haccp.reports.layout.records import record_key
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "index", own("Index")


def index_section(gathered: Gathered, sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    yield Heading(own("Batches by their codes"), "index-batches", 1)
    treated = {code: heat.heat_key(record_id) for record_id, code, _ in reversed(gathered.heat_titles)}
    drawn = {curve.lot: acidity.curve_key(curve) for curve in reversed(gathered.curves)}
    if gathered.batch_names:
        yield IndexHead("Page of", ("heat treatment", "acidity", "the batch"))
    else:
        yield words(own("No batch is shown."))
    for lot_id, code, product in gathered.batch_names:
        title = " · ".join(filter(None, (code, product)))
        yield IndexLine(title, (treated.get(code, ""), drawn.get(code, ""), batch_key(lot_id)))
    yield Heading(own("Records that were amended"), "index-amendments", 1)
    if not gathered.amended:
        yield words(own("No record shown was amended."))
        return
    yield IndexHead("Original and amendment, by their entries", ("page",))
    for one in gathered.amended:
        title = f"{one.ref.lstrip('#')} amended by {', '.join(ref.lstrip('#') for ref in one.changes)} · {one.point}"
        yield IndexLine(f"{title}, {sheet.time.moment(one.observed_at)}", (record_key(one.record_id),))
