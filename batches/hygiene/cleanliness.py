"""Is this place clean now? From the last use, the last cleaning that met its limits, and the swabs."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Max, Q, QuerySet

from batches.hygiene.environment import PlaceNow, standing_of_places
from batches.hygiene.models import Method
from batches.hygiene.queries import methods_in_use
from haccp.checks.models import Record, RulingRow
from haccp.deviations.cleaned import Cleanings
from haccp.lots.kinds import USES
from haccp.lots.models import LotEvent
from haccp.plan.models import Check
from haccp.premises.models import Place, Premises
from haccp.science.ruling import Ruling

SATISFIED = (Ruling.MET, Ruling.CLOSE)
FREE = PlaceNow(False, "")


@dataclass(frozen=True, slots=True)
class Cleanliness:
    """reason: one sentence, why or why not. methods: those in use there; lacking: the one that is not done."""

    place: Place
    is_clean: bool
    reason: str
    methods: Sequence[Method] = ()
    lacking: Method | None = None
    cleaned_at: datetime | None = None


def cleanliness(place: Place, at: datetime) -> Cleanliness:
    """Of one place at a moment, by what is recorded now. A place of which no cleaning is asked for is clean."""
    found = cleanliness_of(place.premises, at, place=place)
    return found[0] if found else Cleanliness(place, True, "No cleaning before use is asked for.")


def cleanliness_of(premises: Premises, at: datetime, *, place: Place | None = None) -> list[Cleanliness]:
    """Of every place that has a cleaning method, in the order of the walk; a constant number of queries."""
    by_place: dict[UUID, list[Method]] = defaultdict(list)
    for method in methods_in_use(premises, at, place=place):
        by_place[method.place_id].append(method)
    used, done = _last_uses(by_place, at), _last_cleanings(premises, by_place, at)
    swabs = standing_of_places(by_place, at)
    return [
        _of_one(methods, used.get(place_id), done, swabs.get(place_id, FREE), at)
        for place_id, methods in by_place.items()
    ]


def cleanings_of(places: Collection[UUID]) -> dict[UUID, Cleanings]:
    """Every cleaning that was ever done with its limits met, by any method there was. Registered in
    haccp.deviations.cleaned. A constant number of queries."""
    asked: dict[UUID, datetime] = {}
    keys: dict[UUID, set[UUID]] = defaultdict(set)
    methods = Method.objects.filter(place__in=places, ends_cleaning_by=False).order_by("recorded_at")
    for place_id, check_key, since in methods.values_list("place_id", "check_key", "recorded_at"):
        asked.setdefault(place_id, since)
        keys[check_key].add(place_id)
    key_of = _keys_of_checks(keys)
    done: dict[UUID, list[datetime]] = defaultdict(list)
    good = _good_records(places).filter(check_done__in=key_of).order_by("observed_at")
    for place_id, check_id, at in good.values_list("place_id", "check_done_id", "observed_at"):
        if place_id is not None and place_id in keys[key_of[check_id]]:
            done[place_id].append(at)
    return {place_id: Cleanings(since, tuple(done[place_id])) for place_id, since in asked.items()}


def _keys_of_checks(keys: Collection[UUID]) -> dict[UUID, UUID]:
    """Check, in any revision -> the one of these keys that it goes back to."""
    checks = Check.objects.filter(Q(pk__in=keys) | Q(origin__in=keys)).values_list("pk", "origin")
    return {pk: origin if origin is not None and origin in keys else pk for pk, origin in checks}


def _good_records(places: Collection[UUID]) -> QuerySet[Record]:
    unmet = RulingRow.objects.exclude(ruling__in=SATISFIED).values("record")
    return Record.objects.filter(place__in=list(places)).current().exclude(pk__in=unmet)


def _of_one(
    methods: list[Method],
    last_use: datetime | None,
    done: dict[UUID, datetime],
    swabs: PlaceNow,
    at: datetime,
) -> Cleanliness:
    place = methods[0].place
    asked = [method for method in methods if method.before_use]
    times = [done[method.id] for method in methods if method.id in done]
    cleaned_at = max(times, default=None)
    if asked and swabs.may_not_be_used:
        return Cleanliness(place, False, swabs.sentence, methods, asked[0], cleaned_at)
    for method in asked:
        wrong = _what_is_wrong(method, done.get(method.id), last_use, at)
        if wrong:
            return Cleanliness(place, False, wrong, methods, method, cleaned_at)
    words = f"Cleaned {_local(place, cleaned_at)}." if cleaned_at else "No cleaning before use is asked for."
    return Cleanliness(place, True, words, methods, None, cleaned_at)


def _what_is_wrong(method: Method, done_at: datetime | None, last_use: datetime | None, at: datetime) -> str:
    place = method.place
    if done_at is None:
        return f"“{method.name}” is not recorded as done with its limits met."
    if last_use is not None and done_at < last_use:
        return (
            f"It was used {_local(place, last_use)}, and “{method.name}” has not been done since (last: "
            f"{_local(place, done_at)})."
        )
    if method.keeps_clean_s is not None and at - done_at > timedelta(seconds=method.keeps_clean_s):
        return f"“{method.name}” was last done {_local(place, done_at)}, which is too long ago."
    return ""


def _last_uses(places: dict[UUID, list[Method]], at: datetime) -> dict[UUID, datetime]:
    """The last use of each place before this moment: the one that is about to begin is not one."""
    uses = LotEvent.objects.filter(place__in=places, kind__in=USES, occurred_at__lt=at).order_by()
    return dict(uses.values("place").annotate(last=Max("occurred_at")).values_list("place", "last"))


def _last_cleanings(premises: Premises, places: dict[UUID, list[Method]], at: datetime) -> dict[UUID, datetime]:
    """Method -> when its check, in any revision, was last recorded at its place with every limit met."""
    method_of = {(place, method.check_key): method.id for place, found in places.items() for method in found}
    key_of = _keys_of_checks({key for _, key in method_of})
    good = (
        _good_records(places)
        .filter(premises=premises, check_done__in=key_of, observed_at__lte=at)
        .order_by()
        .values("place", "check_done")
        .annotate(last=Max("observed_at"))
    )
    done: dict[UUID, datetime] = {}
    for place, check, last in good.values_list("place", "check_done", "last"):
        method = method_of.get((place, key_of[check]))
        if method is not None:
            done[method] = max(last, done.get(method, last))
    return done


def _local(place: Place, moment: datetime) -> str:
    local = moment.astimezone(place.premises.zone)
    return f"on {local.day} {local:%b} at {local:%H:%M}"
