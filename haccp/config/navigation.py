"""The rooms of the service as the navigation lists them."""

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Room:
    """covers: names of views (or "app:" for a whole app) during which the room is marked as the current one.

    in_bar: among the few that the bar at the foot of a phone has room for.
    """

    label: str | Promise
    view: str
    covers: tuple[str, ...]
    in_bar: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rooms under one heading, in the order in which a dairy goes through them."""

    label: str | Promise
    rooms: tuple[Room, ...]


GROUPS = (
    Group(
        _("Every day"),
        (
            Room(
                _("Today"),
                "checks:today",
                ("checks:today", "checks:due", "checks:extra", "checks:trace", "checks:missed"),
                True,
            ),
            Room(
                _("Milk"),
                "intake:list",
                ("intake:list", "intake:new", "intake:detail", "intake:finding", "intake:cooling", "intake:count"),
            ),
            Room(
                _("Makes"),
                "making:list",
                (
                    "making:list",
                    "making:new",
                    "making:batch",
                    "making:event",
                    "making:s",
                    "making:weigh",
                    "making:h",
                    "making:brine",
                ),
                True,
            ),
            Room(_("Rooms"), "ripening:rooms", ("ripening:",), True),
            Room(_("Hygiene"), "hygiene:overview", ("hygiene:",)),
            Room(_("Deviations"), "deviations:list", ("deviations:",), True),
        ),
    ),
    Group(
        _("Product"),
        (
            Room(_("Ingredients"), "intake:ingredients", ("intake:ingredient", "intake:stock", "intake:supplier")),
            Room(_("Samples"), "laboratory:list", ("laboratory:",)),
            Room(_("Stock"), "stock:list", ("stock:",)),
            Room(_("Recall"), "recall:list", ("recall:", "tracing:")),
        ),
    ),
    Group(
        _("Papers"),
        (
            Room(_("Day book"), "checks:days", ("checks:day", "checks:record", "checks:amend")),
            Room(_("Charts"), "charts:charts", ("charts:",)),
            Room(_("Visit packs"), "reports:packs", ("reports:",)),
            Room(_("Keeping records"), "keeping:keeping", ("keeping:",)),
        ),
    ),
    Group(
        _("The dairy"),
        (
            Room(_("Plan"), "plan:plan", ("plan:",)),
            Room(_("Procedures"), "making:procedures", ("making:procedure", "making:draft")),
            Room(_("Calibration"), "calibration:overview", ("calibration:",)),
            Room(_("Training"), "training:overview", ("training:",)),
            Room(
                _("Places and instruments"),
                "premises:dairy",
                ("premises:dairy", "premises:details", "premises:place", "premises:instrument"),
            ),
            Room(
                _("Who does what"), "checks:cover", ("checks:cover", "checks:absence", "checks:back", "checks:keeper")
            ),
            Room(_("Calendar"), "checks:calendar", ("checks:calendar", "checks:closed", "checks:reopen")),
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class Link:
    label: str | Promise
    href: str
    view: str
    is_current: bool
    in_bar: bool


@dataclass(frozen=True, slots=True)
class LinkGroup:
    label: str | Promise
    links: tuple[Link, ...]


def groups(current_view: str) -> tuple[LinkGroup, ...]:
    """A room whose pages are not installed has no link."""
    found = []
    for group in GROUPS:
        links = tuple(link for room in group.rooms if (link := _link(room, current_view)) is not None)
        if links:
            found.append(LinkGroup(group.label, links))
    return tuple(found)


def _link(room: Room, current_view: str) -> Link | None:
    try:
        href = reverse(room.view)
    except NoReverseMatch:
        return None
    is_current = bool(current_view) and any(current_view.startswith(name) for name in room.covers)
    return Link(room.label, href, room.view, is_current, room.in_bar)
