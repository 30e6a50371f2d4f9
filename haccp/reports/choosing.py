"""What a choice is called and which days it brings; here it is made sure that all of it is of this dairy."""

from collections.abc import Sequence
from datetime import date
from uuid import UUID

from batches.recall.models import Recall
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, Product
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from haccp.reports.dates import day_words
from haccp.reports.gather.choice import Choice, begins, chosen

MOST_NAMED = 4


def words_of(premises: Premises, choice: Choice) -> str:
    """Such as "Batch AS261103", empty for the whole dairy. Raises ActionError for what is not of this dairy."""
    if choice.products:
        products = Product.objects.filter(premises=premises, id__in=choice.products).order_by("name")
        return _named("Cheese", [product.name for product in products], choice.products, "products")
    if choice.batches:
        lots = Lot.objects.for_premises(premises).batches().filter(id__in=choice.batches).order_by("code")
        return _named("Batch", [lot.code for lot in lots], choice.batches, "batches")
    if choice.deviation:
        found = Deviation.objects.for_premises(premises).filter(pk=choice.deviation).first()
        if found is None:
            raise ActionError("There is no such deviation at this dairy.", field="deviation")
        return f"Deviation {found.reference}"
    if choice.recall:
        recall = Recall.objects.filter(premises=premises, pk=choice.recall).first()
        if recall is None:
            raise ActionError("There is no such recall at this dairy.", field="recall")
        return f"{recall.get_kind_display().capitalize()} of {day_words(premises.local_date(recall.started_at))}"
    if choice.point:
        points = ControlPoint.objects.filter(revision__premises=premises, code=choice.point)
        point = points.order_by("-revision__number").first()
        if point is None:
            raise ActionError("The plan has no such control point; choose one from the list.", field="point")
        return f"{point.code} {point.name}"[:200]
    return "Cleaning" if choice.programme else ""


def own_days(premises: Premises, choice: Choice, today: date) -> tuple[date, date]:
    """From the first thing that the chosen batches or the deviation show, to today."""
    since = begins(chosen(choice))
    return (min(premises.local_date(since), today) if since else today), today


def batches_named(premises: Premises, typed: str) -> tuple[UUID, ...]:
    """Batches by their codes, written one after the other. Raises ActionError that names those that are not there."""
    codes = [code for code in typed.replace(",", " ").replace(";", " ").split() if code]
    by_code = {
        code.casefold(): pk for code, pk in Lot.objects.for_premises(premises).batches().values_list("code", "id")
    }
    unknown = [code for code in codes if code.casefold() not in by_code]
    if unknown:
        raise ActionError(
            f"There is no batch {', '.join(unknown)} at this dairy; write the codes as they stand in the list of "
            "makes, with spaces between them.",
            field="batches",
        )
    return tuple(dict.fromkeys(by_code[code.casefold()] for code in codes))


def _named(kind: str, names: Sequence[str], wanted: Sequence[UUID], field: str) -> str:
    if len(names) != len(set(wanted)):
        raise ActionError("Something chosen is not of this dairy; choose from the list.", field=field)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{kind} {', '.join(names[:MOST_NAMED])}{more}"[:200]
