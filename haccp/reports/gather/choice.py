"""Which part of a dairy's records a pack shows, and what that means for each kind of row."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from batches.recall.models import Recall, RecallMark
from haccp.deviations.models import Deviation
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import ancestors_of, descendants_of
from haccp.lots.stays import ENTERS

# A batch's pack shows that its vat was clean: what was done about the vat the day before counts to its stay.
BEFORE_THE_VAT = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Choice:
    """At most one of them is set; none of them is the whole dairy. point: code of a control point."""

    products: tuple[UUID, ...] = ()
    batches: tuple[UUID, ...] = ()
    point: str = ""
    programme: str = ""
    deviation: UUID | None = None
    recall: UUID | None = None

    @property
    def is_whole(self) -> bool:
        return self == Choice()

    @property
    def of_lots(self) -> bool:
        return bool(self.products or self.batches or self.deviation or self.recall)

    @property
    def sets_period(self) -> bool:
        """Batches, deviations and recalls bring their own days."""
        return bool(self.batches or self.deviation or self.recall)

    def to_json(self) -> dict[str, Any]:
        """What VisitPack.choice keeps; empty for the whole dairy."""
        kept = {
            "products": [str(one) for one in self.products],
            "batches": [str(one) for one in self.batches],
            "point": self.point,
            "programme": self.programme,
            "deviation": str(self.deviation) if self.deviation else "",
            "recall": str(self.recall) if self.recall else "",
        }
        return {name: value for name, value in kept.items() if value}

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> "Choice":
        return cls(
            products=tuple(UUID(one) for one in kept.get("products", ())),
            batches=tuple(UUID(one) for one in kept.get("batches", ())),
            point=kept.get("point", ""),
            programme=kept.get("programme", ""),
            deviation=UUID(kept["deviation"]) if kept.get("deviation") else None,
            recall=UUID(kept["recall"]) if kept.get("recall") else None,
        )


@dataclass(frozen=True, slots=True)
class Stay:
    """Of chosen lots in a place. until: None while one of them is still there."""

    place_id: UUID
    since: datetime
    until: datetime | None

    def holds(self, moment: str) -> Q:
        """moment: name of the field that has to lie within the stay."""
        inside = Q(**{f"{moment}__gte": self.since})
        return inside & Q(**{f"{moment}__lt": self.until}) if self.until else inside


@dataclass(frozen=True, slots=True)
class Chosen:
    """A choice followed through to rows. own: the batches chosen; lots: these, what went into them and came of them."""

    choice: Choice
    own: frozenset[UUID] = frozenset()
    lots: frozenset[UUID] = frozenset()
    stays: tuple[Stay, ...] = field(default=())
    point: str = ""
    point_since: datetime | None = None

    def records(self) -> Q:
        """Of haccp.checks.Record."""
        if self.choice.is_whole:
            return Q()
        if not self.choice.of_lots:
            return self._of_point("check_done__control_point__")
        found = Q(lot__in=self.lots)
        for stay in self.stays:
            found |= Q(lot__isnull=True, place=stay.place_id) & stay.holds("observed_at")
        if self.point_since is not None:
            found |= Q(check_done__control_point__code=self.point, observed_at__gte=self.point_since)
        return found

    def due(self, prefix: str = "") -> Q:
        """Of DueCheck, or of what leads to it by prefix ("due__")."""
        if self.choice.is_whole:
            return Q()
        of_point = self._of_point(f"{prefix}check_due__control_point__")
        if not self.choice.of_lots:
            return of_point
        found = Q(**{f"{prefix}lot__in": self.lots})
        for stay in self.stays:
            placed = Q(**{f"{prefix}lot__isnull": True, f"{prefix}check_due__place": stay.place_id})
            found |= placed & stay.holds(f"{prefix}due_at")
        if self.point_since is not None:
            found |= of_point & Q(**{f"{prefix}due_at__gte": self.point_since})
        return found

    def deviations(self) -> Q:
        if self.choice.is_whole:
            return Q()
        if self.choice.deviation:
            return Q(id=self.choice.deviation)
        if not self.choice.of_lots:
            return self._of_point("control_point__")
        rows = Deviation.objects.filter(
            Q(implicated__lot__in=self.lots) | Q(ruling__record__lot__in=self.lots) | Q(missed__due__lot__in=self.lots)
        )
        return Q(id__in=rows.values("id"))

    def _of_point(self, prefix: str) -> Q:
        if self.choice.programme:
            return Q(**{f"{prefix}programme__iexact": self.choice.programme})
        return Q(**{f"{prefix}code": self.point})


def chosen(choice: Choice) -> Chosen:
    """In a constant number of queries, and one or two for each step that milk took to become cheese."""
    if not choice.of_lots:
        return Chosen(choice, point=choice.point)
    if choice.products:
        own = set(Lot.objects.filter(product__in=choice.products).values_list("id", flat=True))
        return _of_lots(choice, own)
    if choice.batches:
        return _of_lots(choice, set(choice.batches))
    if choice.recall:
        return _of_lots(choice, _recalled(choice.recall))
    assert choice.deviation is not None
    deviation = Deviation.objects.select_related("control_point").get(pk=choice.deviation)
    own = set(deviation.implicated.values_list("lot", flat=True))
    if deviation.ruling and deviation.ruling.record.lot_id:
        own.add(deviation.ruling.record.lot_id)
    return Chosen(
        choice,
        own=frozenset(own),
        lots=frozenset(own),
        point=deviation.control_point.code,
        point_since=deviation.exposed_from or deviation.occurred_at,
    )


def _recalled(recall_id: UUID) -> set[UUID]:
    """The batches among the lots that its list showed when it was made; the chosen lot alone before there was one."""
    marks = RecallMark.objects.filter(recall=recall_id)
    listed = {one for figures in marks.values_list("figures", flat=True) for one in figures.get("lots", [])}
    premises = Recall.objects.values_list("premises", flat=True).get(pk=recall_id)
    chosen_lots = marks.filter(kind=RecallMark.Kind.CHOSEN).values("lot")
    found = Lot.objects.filter(Q(code__in=listed) | Q(id__in=chosen_lots), premises=premises)
    return set(found.values_list("id", flat=True))


def begins(found: Chosen) -> datetime | None:
    """When the first thing happened that a choice of batches or of a deviation shows."""
    moments = list(Lot.objects.filter(id__in=found.lots).values_list("begun_at", flat=True))
    moments += [found.point_since] if found.point_since else []
    moments += [stay.since for stay in found.stays]
    return min(moments, default=None)


def _of_lots(choice: Choice, own: set[UUID]) -> Chosen:
    lots = own | ancestors_of(own) | set(descendants_of(own))
    return Chosen(choice, own=frozenset(own), lots=frozenset(lots), stays=tuple(_stays(own)))


def _stays(lots: set[UUID]) -> Iterable[Stay]:
    """Where the lots were and when; stays in one place that overlap are one."""
    moves: dict[UUID, list[LotEvent]] = defaultdict(list)
    events = LotEvent.objects.filter(lot__in=lots, kind__in=[*ENTERS, EventKind.LEFT_ROOM])
    for event in events.order_by("occurred_at", "recorded_at"):
        moves[event.lot_id].append(event)
    found: dict[UUID, list[tuple[datetime, datetime | None]]] = defaultdict(list)
    for mine in moves.values():
        for event, following in zip(mine, [*mine[1:], None], strict=True):
            if event.kind in ENTERS and event.place_id is not None:
                lead = BEFORE_THE_VAT if event.kind == EventKind.MAKE_STARTED else timedelta()
                until = following.occurred_at if following else None
                found[event.place_id].append((event.occurred_at - lead, until))
    for place_id, spans in found.items():
        for since, until in _joined(sorted(spans, key=lambda span: span[0])):
            yield Stay(place_id, since, until)


def _joined(spans: list[tuple[datetime, datetime | None]]) -> list[tuple[datetime, datetime | None]]:
    joined: list[tuple[datetime, datetime | None]] = []
    for since, until in spans:
        if not joined or (joined[-1][1] is not None and joined[-1][1] < since):
            joined.append((since, until))
        elif joined[-1][1] is not None:
            joined[-1] = (joined[-1][0], max(joined[-1][1], until) if until else None)
    return joined
