"""What went wrong with cheese that was sold, and the exercise of a recall, late in the four weeks."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

from batches.recall import actions as recall
from batches.recall.models import RecallMark
from batches.stock import actions as stock
from batches.stock.models import Dispatch, Item, ItemEvent
from batches.tracing.graph import sent_of
from haccp.config.demo.agenda import Act, Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.incidents import Incidents
from haccp.config.demo.local_days import at
from haccp.config.demo.makes import batch_id
from haccp.config.demo.milk import milk_id
from haccp.config.demo.trade import BUYERS, PACKED_AFTER_DAYS, SENT_AFTER_DAYS, buyer_id, buyers_of, dispatch_id, here
from haccp.lots.models import Lot

Kind = ItemEvent.Kind
EXERCISE_DAYS_AGO = 2
ANSWERS = (
    "By telephone. Two boxes still on the shelf; they would put them aside.",
    "By telephone, at the second attempt. All of it eaten; they keep no record of the tables.",
    "By telephone. One box in the van; the rest sold on Saturday.",
)


def add_exercise(dairy: Dairy, agenda: Agenda, incidents: Incidents) -> None:
    """The milk of the evening before a make is chosen, and every buyer of what was made of it is called."""
    day = incidents.recalled_make
    start = at(dairy.today - timedelta(days=EXERCISE_DAYS_AGO), 13, 40)

    def when_sold(act: Act) -> Act:
        def run(now: datetime) -> None:
            if sent_of(list(Lot.objects.filter(pk=batch_id(dairy, day)))):
                act(now)

        return run

    steps: list[tuple[int, Callable[[datetime], None]]] = [
        (0, lambda now: _start(dairy, day, now)),
        (3, lambda now: _choose(dairy, day, now)),
        *((7 + 5 * n, _call(dairy, day, n)) for n in range(len(BUYERS))),
        (31, lambda now: _finish(dairy, day, now)),
    ]
    for minutes, act in steps:
        agenda.add(start + timedelta(minutes=minutes), when_sold(act))


def _start(dairy: Dairy, day: date, now: datetime) -> None:
    recall.recall_start(
        scope=dairy.staff.owner,
        recall_id=dairy.new_id("recall", day),
        kind="exercise",
        reason="Suppose the goats' farm rings: the cooler of one evening's milk stood off until midnight.",
        repeat_after_days=180,
        now=now,
    )


def _choose(dairy: Dairy, day: date, now: datetime) -> None:
    recall.recall_choose(
        scope=dairy.staff.owner,
        recall_id=dairy.new_id("recall", day),
        mark_id=dairy.new_id("recall chosen", day),
        lot_id=milk_id(dairy, day - timedelta(days=1), "evening"),
        reach=RecallMark.Reach.FORWARD,
        now=now,
    )


def _call(dairy: Dairy, day: date, number: int) -> Act:
    def call(now: datetime) -> None:
        if Dispatch.objects.filter(pk=dispatch_id(dairy, day, number)).exists():
            recall.recall_reach(
                scope=dairy.staff.owner,
                recall_id=dairy.new_id("recall", day),
                mark_id=dairy.new_id("recall reached", day, number),
                customer_id=buyer_id(dairy, number),
                note=ANSWERS[number],
                now=now,
            )

    return call


def _finish(dairy: Dairy, day: date, now: datetime) -> None:
    recall.recall_finish(
        scope=dairy.staff.owner,
        recall_id=dairy.new_id("recall", day),
        mark_id=dairy.new_id("recall finished", day),
        note="Everybody reached within half an hour. Two hundred grams opened at the counter are in no day's total: "
        "from now on the board is weighed each evening. A second telephone number of the restaurant is wanted.",
        now=now,
    )


def add_mishaps(dairy: Dairy, agenda: Agenda, incidents: Incidents) -> None:
    """Of the batch that is recalled later: a box sampled, a box lost, and a box that comes back and is destroyed."""
    day = incidents.recalled_make
    sent_on = day + timedelta(days=SENT_AFTER_DAYS[0])
    buyer = buyers_of(day, 0)[0]
    agenda.add(at(day + timedelta(days=PACKED_AFTER_DAYS), 15, 40), _take(dairy, day, Kind.SAMPLE))
    agenda.add(at(sent_on, 10, 15), _take(dairy, day, Kind.LOSS))
    agenda.add(at(sent_on + timedelta(days=1), 14, 30), _bring_back(dairy, day, buyer))
    agenda.add(at(sent_on + timedelta(days=1), 16, 5), _destroy_returned(dairy, day, buyer))


def _take(dairy: Dairy, day: date, kind: str) -> Act:
    def take(now: datetime) -> None:
        boxes = here(dairy, day, Item.Kind.PACK)
        if boxes:
            is_loss = kind == Kind.LOSS
            stock.item_event(
                scope=dairy.staff.helper,
                event_id=dairy.new_id(kind, day),
                item_id=boxes[-1 if is_loss else len(boxes) // 2].pk,
                kind=kind,
                occurred_at=now - timedelta(minutes=2),
                weight="" if is_loss else "0.19",
                whole=is_loss,
                note="Fell from the trolley and burst; to the pigs." if is_loss else "One cheese, tasted by all three.",
                now=now,
            )

    return take


def _bring_back(dairy: Dairy, day: date, buyer: int) -> Act:
    def bring(now: datetime) -> None:
        dispatch = Dispatch.objects.filter(pk=dispatch_id(dairy, day, buyer)).first()
        if dispatch is not None:
            stock.items_return(
                scope=dairy.staff.maker,
                request_id=dairy.new_id("back", day),
                dispatch_id=dispatch.pk,
                item_ids=list(dispatch.events.order_by("item__number").values_list("item", flat=True))[:1],
                returned_at=now - timedelta(minutes=5),
                note="Their cooler was off for a night; this box stood nearest the door.",
                place_id=dairy.places.cold_store.id,
                now=now,
            )

    return bring


def _destroy_returned(dairy: Dairy, day: date, buyer: int) -> Act:
    def destroy(now: datetime) -> None:
        for event in ItemEvent.objects.filter(kind=Kind.RETURNED, item__lot=batch_id(dairy, day)):
            stock.item_event(
                scope=dairy.staff.maker,
                event_id=dairy.new_id("destroyed", event.pk),
                item_id=event.item_id,
                kind=Kind.LOSS,
                occurred_at=now - timedelta(minutes=2),
                whole=True,
                note="Nobody can say how warm it was: destroyed, not sold again.",
                now=now,
            )

    return destroy
