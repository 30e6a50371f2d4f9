"""Pictures of a small dairy's days, as the pages and papers ask for them."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from haccp.drawing.acidity_chart import AcidityChart, AcidityLimit, acidity_chart
from haccp.drawing.ageing_bar import AgedStretch, AgeingBar, Moment, Worth, ageing_bar
from haccp.drawing.chart import Event, Span
from haccp.drawing.climate_chart import ClimateChart, climate_chart
from haccp.drawing.degrees import CELSIUS, FAHRENHEIT, Degrees
from haccp.drawing.flow_chart import Control, Flow, FlowArrow, FlowStep, flow
from haccp.drawing.heat_chart import HeatChart, heat_chart
from haccp.drawing.layout import COMPACT, PRINT, WIDE, Layout
from haccp.drawing.picture import Picture
from haccp.drawing.roles import Role
from haccp.drawing.timeline import Step, Timeline, timeline, vertical_timeline
from haccp.science.flow import LinkKind
from haccp.science.trace import Trace

PARIS = ZoneInfo("Europe/Paris")
LAYOUTS = {"wide": WIDE, "compact": COMPACT, "print": PRINT}


def vat_trace(*, silent_from: int | None = None) -> Trace:
    """45 minutes at one sample a second, begun twenty minutes into the hour that Paris has twice on 25 Oct 2026."""
    t = np.arange(0.0, 2700.0)
    product = np.interp(t, [0, 600, 660, 2520, 2700], [12, 63.1, 63.8, 63.7, 48]) + 0.1 * np.sin(t / 7)
    air = np.interp(t, [0, 600, 700, 2520, 2700], [20, 65.5, 67.4, 67.0, 60]) + 0.2 * np.sin(t / 5)
    if silent_from is not None:
        product[silent_from : silent_from + 100] = np.nan
    return Trace(datetime(2026, 10, 25, 0, 20, tzinfo=UTC), t, {"T1": product, "T2": air})


def heat(layout: Layout = WIDE, *, close_up: bool = False, silent: bool = False, degrees: Degrees = CELSIUS) -> Picture:
    problems = (Span(1300, 1400, "no record 1 min 40 s", Role.GAP), Span(1800, 1860, "air space low", Role.PROBLEM))
    return heat_chart(
        HeatChart(
            title="Heat treatment in vat 2",
            description="The product stayed at or above 63 °C for 31 minutes.",
            trace=vat_trace(silent_from=1300 if silent else None),
            roles={"T1": "product", "T2": "air_space"},
            limit_c=63.0,
            zone=PARIS,
            run_s=(640.0, 2500.0),
            problems=problems if silent else (),
            events=(Event(560, "heating off"), Event(2510, "cooling on")),
            air_space_limit_c=66.0,
            target_c=63.5 if close_up else None,
            close_up=close_up,
            degrees=degrees,
            layout=layout,
        )
    )


STARTER_AT = datetime(2026, 11, 20, 7, 5, tzinfo=UTC)


def acidity(layout: Layout = WIDE, *, hours: int = 7, second_limit: bool = False) -> Picture:
    h = [0, 0.75, 1.5, 2.5, 3.5, 4.5, 5.8, 8, 12, 20, 26][:hours]
    ph = [6.62, 6.55, 6.43, 6.18, 5.84, 5.52, 5.34, 5.1, 4.95, 4.8, 4.62][:hours]
    limits = (AcidityLimit(6 * 3600, 5.3), AcidityLimit(24 * 3600, 4.7))
    return acidity_chart(
        AcidityChart(
            title="pH of the make",
            description="pH fell from 6.62.",
            starter_at=STARTER_AT,
            times=[STARTER_AT + timedelta(hours=x) for x in h],
            values=ph,
            limits=limits if second_limit else limits[:1],
            targets=(5.2,) if second_limit else (),
            events=(Event(2400, "rennet"), Event(5400, "cut"), Event(8000, "drain"), Event(9000, "mill & salt")),
            layout=layout,
        )
    )


def climate(layout: Layout = WIDE, *, missed: int = 2) -> Picture:
    start = datetime(2026, 10, 19, 22, tzinfo=UTC)
    due = [start + timedelta(hours=7 + 12 * i) for i in range(28)]
    not_done = due[5 : 5 + 3 * missed : 3]
    done = [at for at in due if at not in not_done]
    return climate_chart(
        ClimateChart(
            title="Ripening room 1",
            description="Two checks were missed; once the room was too warm.",
            unit="°C",
            zone=PARIS,
            from_at=start,
            to_at=start + timedelta(days=14),
            times=done,
            values=[13.4 if i == 15 else 11.2 + 0.8 * float(np.sin(i / 3)) for i in range(len(done))],
            low=10.0,
            high=13.0,
            target_low=10.5,
            target_high=12.5,
            missed=tuple(not_done),
            gaps=((start + timedelta(days=9), start + timedelta(days=9, hours=6)),),
            layout=layout,
        )
    )


def make(steps: int = 12) -> Timeline:
    start = datetime(2026, 11, 20, 5, 40, tzinfo=UTC)
    known = [
        (0, "Milk in", "450 L ewe's, 4.2 °C"),
        (35, "Heat treatment", "63.0 °C, 30 min"),
        (95, "Starter", "32.0 °C, 4.5 L"),
        (135, "Rennet", "18 mL"),
        (175, "Cut", "hazelnut"),
        (182, "Stirred", ""),
        (210, "pH missed", "due 09:00"),
        (225, "Drained", "pH 6.41"),
        (240, "Moulded", "42 pieces"),
        (300, "Turned", ""),
        (420, "Turned", "pH 5.31"),
        (540, "Brined", "12 °C, 18 h"),
    ]
    chosen = [(m + 600 * (i // 12), label, note) for i in range(steps) for m, label, note in [known[i % 12]]]
    return Timeline(
        "Make of 20 November",
        "From milk to brine in nine hours.",
        tuple(
            Step(start + timedelta(minutes=m), label, note, Role.PROBLEM if "missed" in label else Role.SERIES_1)
            for m, label, note in chosen
        ),
        PARIS,
    )


def ageing(layout: Layout = WIDE, *, is_met: bool = False) -> Picture:
    """A cheese that was moved once, with a gap, an hour's loss and, while the days are not all there, days to come."""
    start = datetime(2026, 9, 1, 6, 0, tzinfo=UTC)

    def stretch(worth: Worth, room: str, first: float, last: float) -> AgedStretch:
        return AgedStretch(worth, room, start + timedelta(days=first), start + timedelta(days=last))

    stretches = [
        stretch(Worth.UNPROVEN, "Vat 1", 0, 1.2),
        stretch(Worth.PROVEN, "Upper cellar", 1.2, 20),
        stretch(Worth.LOST, "Upper cellar", 20, 20.05),
        stretch(Worth.PROVEN, "Upper cellar", 20.05, 31),
        stretch(Worth.UNPROVEN, "Long cave under the hill", 31, 34),
        stretch(Worth.PROVEN, "Long cave under the hill", 34, 41),
    ]
    moments = [Moment(start + timedelta(days=41), "counted to 12 Oct")]
    if not is_met:
        stretches.append(stretch(Worth.TO_COME, "", 41, 64))
        moments.append(Moment(start + timedelta(days=64), "earliest release 4 Nov", Role.LIMIT))
        moments.append(Moment(start + timedelta(days=60), "31 Oct if all were proven", Role.TARGET))
    legend = (
        (Worth.PROVEN, "proven, 36 d 19 h"),
        (Worth.UNPROVEN, "unproven, 4 d 4 h"),
        (Worth.LOST, "lost: outside what the rule asks for, 1 h 12 min"),
        (Worth.TO_COME, "still to come, 23 d"),
    )
    return ageing_bar(AgeingBar("Ageing", "Proven and not.", PARIS, tuple(stretches), tuple(moments), legend, layout))


def process(layout: Layout) -> Picture:
    """Two cheeses of one milk: branches that part and meet, a link over several rows, rework and waste."""
    ccp, prp = (Control("CCP 1", "Pasteurisation", is_critical=True), Control("PRP 1", "Milk", is_critical=False))
    steps = (
        FlowStep(1, "Milk received", controls=(prp,), inputs=("raw milk",)),
        FlowStep(2, "Rennet and cultures received", inputs=("rennet", "cultures", "calcium chloride")),
        FlowStep(3, "Pasteurised in the vat", controls=(ccp,)),
        FlowStep(4, "Warmed", "Old Weir"),
        FlowStep(5, "Set and cut", outputs=("whey",)),
        FlowStep(6, "Pressed", "Old Weir"),
        FlowStep(7, "Ladled", "Young Weir"),
        FlowStep(8, "Salted in brine", controls=(Control("PRP 12", "Brine", is_critical=False),), inputs=("salt",)),
        FlowStep(9, "Ripened"),
        FlowStep(10, "Rejected cheese destroyed"),
        FlowStep(11, "Packed", inputs=("paper", "labels with the names of allergens")),
        FlowStep(12, "Dispatched"),
    )
    branch, rework, waste = LinkKind.BRANCH, LinkKind.REWORK, LinkKind.WASTE
    arrows = (
        FlowArrow(1, 3, branch, "for Young Weir"), FlowArrow(1, 4, branch, "for Old Weir"), FlowArrow(2, 5),
        FlowArrow(3, 5), FlowArrow(4, 5), FlowArrow(5, 6, branch), FlowArrow(5, 7, branch), FlowArrow(6, 8),
        FlowArrow(7, 9), FlowArrow(8, 9), FlowArrow(9, 10, waste, "mouldy wheels"), FlowArrow(9, 11),
        FlowArrow(11, 12), FlowArrow(11, 9, rework, "unsold wheels"), FlowArrow(8, 8 - 2, rework, "broken wheels"),
    )  # fmt: skip
    return flow(Flow("Flow of the two cheeses", "Twelve steps.", steps, layout, arrows))


def all_scenes() -> dict[str, Picture]:
    scenes = {}
    for name, layout in LAYOUTS.items():
        scenes[f"ageing-{name}"] = ageing(layout)
        scenes[f"ageing-met-{name}"] = ageing(layout, is_met=True)
        scenes[f"flow-{name}"] = process(layout)
        scenes[f"heat-{name}"] = heat(layout)
        scenes[f"heat-close-up-{name}"] = heat(layout, close_up=True)
        scenes[f"heat-silent-{name}"] = heat(layout, silent=True, degrees=FAHRENHEIT)
        scenes[f"acidity-{name}"] = acidity(layout)
        scenes[f"acidity-early-{name}"] = acidity(layout, hours=3)
        scenes[f"acidity-before-{name}"] = acidity(layout, hours=0)
        scenes[f"acidity-two-limits-{name}"] = acidity(layout, hours=11, second_limit=True)
        scenes[f"climate-{name}"] = climate(layout)
        scenes[f"climate-many-missed-{name}"] = climate(layout, missed=7)
    scenes["timeline"] = timeline(make())
    scenes["timeline-one-step"] = timeline(make(1))
    scenes["timeline-too-many"] = timeline(make(36))
    scenes["timeline-vertical"] = vertical_timeline(make())
    return scenes
