"""Writes which lots a deviation names, and holds what came to it since it was opened."""

from collections.abc import Sequence
from datetime import datetime
from uuid import uuid4

from django.db.models import Q

from haccp.deviations import sealing
from haccp.deviations.implication import Touched
from haccp.deviations.models import Deviation, ImplicatedLot, Widening
from haccp.deviations.reach import not_yet_implicated
from haccp.ledger import actions as ledger
from haccp.ledger.bulk import insert
from haccp.lots import actions as lots
from haccp.lots.models import Hold, Lot, LotEvent
from haccp.premises.models import Place
from haccp.premises.scope import Scope

SINCE_OPENED = "It came there, or was made of what was there, after the deviation was opened."


def implicate(
    deviation: Deviation, touched: Sequence[tuple[Touched, str]], widening: Widening | None = None, reason: str = ""
) -> None:
    insert(implicated_rows(deviation, touched, widening, reason))


def implicated_rows(
    deviation: Deviation, touched: Sequence[tuple[Touched, str]], widening: Widening | None = None, reason: str = ""
) -> list[ImplicatedLot]:
    return [
        ImplicatedLot(
            deviation=deviation,
            lot=one.lot,
            why=f"{one.why}: {reason}" if reason else one.why,
            way=way,
            touched_from=one.at,
            widening=widening,
        )
        for one, way in touched
    ]


def widen_to(
    scope: Scope, widening: Widening, touched: Sequence[tuple[Touched, str]], at: datetime, reason: str = ""
) -> None:
    """Writes a widening with its lots, sealed; they are held where the others are, or where the point is critical."""
    deviation = widening.deviation
    widening.save(force_insert=True)
    implicate(deviation, touched, widening, reason)
    ledger.seal(
        log_id=scope.log_id,
        kind="deviation.widened",
        subject=f"widening:{widening.pk}",
        body=sealing.widening_body(widening),
        actor=scope.actor,
        at=at,
    )
    if deviation.control_point.is_critical or Hold.objects.filter(cause=deviation.hold_cause).exists():
        lots.hold_place(
            log_id=scope.log_id,
            lots=[one.lot for one, _ in touched],
            cause=deviation.hold_cause,
            reason=f"{deviation.reference}: {deviation.summary}",
            actor=scope.actor,
            at=at,
        )


def after_move(scope: Scope, lot: Lot, place: Place | None, at: datetime) -> None:
    """Runs inside the transaction that says that something happened to a lot: open deviations take in what comes to
    them by it. One query where none is concerned."""
    concerned = Q(implicated__lot=lot) | Q(implicated__lot__links_out__child=lot)
    concerned |= Q(implicated__lot__links_in__parent=lot)
    if place is not None:
        concerned |= Q(ruling__record__place=place) | Q(missed__due__check_due__place=place)
        concerned |= Q(implicated__lot__in=LotEvent.objects.filter(place=place).order_by().values("lot"))
    found = Deviation.objects.for_premises(scope.premises).open().filter(concerned).order_by("opened_at", "pk")
    for deviation in found.select_related("control_point").distinct():
        fresh = not_yet_implicated(scope.premises, deviation, at)
        if fresh:
            widening = Widening(
                id=uuid4(), deviation=deviation, reason=SINCE_OPENED, recorded_at=at, recorded_by=scope.user
            )
            widen_to(scope, widening, fresh, at)
