"""Climate of the rooms over the period, with the band they should stay in."""

from collections.abc import Iterator

from reportlab.platypus import KeepTogether, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.drawing.climate_chart import ClimateChart, climate_chart
from haccp.reports.draw.ink import SMALL, STRONG
from haccp.reports.draw.marks import Heading, words
from haccp.reports.gather.period import Period
from haccp.reports.gather.room_climate import RoomClimate
from haccp.reports.languages import own, wording
from haccp.reports.layout.sheet import Sheet

KEY = "climate"
TITLE = own("Climate of the rooms")
TICKS = 5


def climate_section(rooms: tuple[RoomClimate, ...], period: Period, sheet: Sheet) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    if not rooms:
        yield words(own("No room's temperature or humidity was recorded in this period."))
    for room in rooms:
        yield KeepTogether([*_room(room, period, sheet), Spacer(1, 10)])
        sheet.tick(TICKS)


def _room(room: RoomClimate, period: Period, sheet: Sheet) -> Iterator[Flowable]:
    yield words(f"{room.place} · {room.label}", STRONG)
    yield words(_in_a_sentence(room), SMALL)
    yield sheet.fitted(
        climate_chart(
            ClimateChart(
                wording=wording(),
                title=f"{room.quantity} of {room.place}",
                description=_in_a_sentence(room),
                unit=room.unit,
                zone=sheet.time.zone,
                from_at=period.start,
                to_at=period.end,
                times=[at for at, _ in room.points],
                values=[value for _, value in room.points],
                low=room.low,
                high=room.high,
                target_low=room.target_low,
                target_high=room.target_high,
                missed=room.missed,
                decimals=room.decimals,
                layout=sheet.third_of_a_page(),
            )
        )
    )


def _in_a_sentence(room: RoomClimate) -> str:
    values = [value for _, value in room.points]
    lowest, highest = (f"{value:.{room.decimals}f} {room.unit}" for value in (min(values), max(values)))
    limit = f" Limit: {room.limit}." if room.limit else " The plan sets no limit for it."
    outside = f" {room.outside} outside the limit." if room.limit else ""
    missed = f" {_checks(len(room.missed))} missed." if room.missed else ""
    count = "1 reading" if len(values) == 1 else f"{len(values)} readings"
    return f"{count} from {lowest} to {highest}.{outside}{missed}{limit}"


def _checks(count: int) -> str:
    return "1 check" if count == 1 else f"{count} checks"
