"""Heat treatment, acidity, climate and the make, as they are read by a cheesemaker."""

from dataclasses import replace

import numpy as np
import pytest

from haccp.drawing.acidity_chart import AcidityChart, AcidityLimit, acidity_chart
from haccp.drawing.degrees import FAHRENHEIT
from haccp.drawing.heat_chart import HeatChart, heat_chart
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import DASHED, Circle, Picture, Polygon, Polyline, Rect, Text
from haccp.drawing.roles import Role
from haccp.drawing.timeline import Timeline, timeline, vertical_timeline
from tests.drawing.scenes import PARIS, STARTER_AT, acidity, climate, heat, make, vat_trace


def words(picture: Picture) -> list[str]:
    return [item.text for item in picture.items if isinstance(item, Text)]


def test_a_heat_treatment_names_its_limit_hold_and_lowest_point() -> None:
    said = words(heat())

    assert {"63.0 °C limit", "66.0 °C air limit", "Hold 31 min", "Product", "Air space"} <= set(said)
    # The clock in Paris is set back during this hold: 02:30 comes twice, and the label says which.
    assert "lowest 63.5 °C, 02:30 CEST" in said


def test_the_lowest_point_is_that_of_the_product_within_the_run() -> None:
    trace = vat_trace()
    product = trace.channels["T1"]
    product[1500] = 62.4
    product[100] = 1.0

    chart = HeatChart("t", "d", trace, {"T1": "product"}, 63.0, PARIS, run_s=(640.0, 2500.0))
    picture = heat_chart(chart)

    # 00:20 UTC + 25 min = 00:45 UTC, 02:45 in Paris before the clock is set back.
    assert "lowest 62.4 °C, 02:45 CEST" in words(picture)


@pytest.mark.parametrize(("low_c", "said"), [(62.96, "62.96"), (62.9994, "62.999"), (63.0, "63.0"), (62.94, "62.9")])
def test_a_value_under_its_limit_is_never_rounded_up_to_it(low_c: float, said: str) -> None:
    trace = vat_trace()
    trace.channels["T1"][1500] = low_c

    picture = heat_chart(HeatChart("t", "d", trace, {"T1": "product"}, 63.0, PARIS, run_s=(700.0, 2500.0)))

    assert f"lowest {said} °C, 02:45 CEST" in words(picture)


def test_the_air_space_is_told_apart_without_colour() -> None:
    lines = [item for item in heat().items if isinstance(item, Polyline)]

    assert {line.dash for line in lines if line.role is Role.SERIES_1} == {()}
    assert {line.dash for line in lines if line.role is Role.SERIES_2} == {DASHED}


def test_a_silent_recorder_leaves_a_hole_and_a_hatched_span() -> None:
    picture = heat(silent=True)

    pieces = [item for item in picture.items if isinstance(item, Polyline) and item.role is Role.SERIES_1]
    gaps = [item for item in picture.items if isinstance(item, Rect) and item.role is Role.GAP]

    assert len(pieces) == 2
    assert len(gaps) == 1
    assert pieces[0].points[-1, 0] <= gaps[0].x + 0.5
    assert pieces[1].points[0, 0] >= gaps[0].x + gaps[0].width - 0.5


def test_fahrenheit_is_the_same_picture_in_other_numbers() -> None:
    celsius, fahrenheit = heat(), heat(degrees=FAHRENHEIT)

    # 21 CFR 1240.61(b) gives 63 °C as 145 °F, rounded; exactly it is 145.4.
    assert "145.4 °F limit" in words(fahrenheit)
    ours, theirs = (
        next(i.points for i in p.items if isinstance(i, Polyline) and i.role is Role.SERIES_1)
        for p in (celsius, fahrenheit)
    )
    np.testing.assert_allclose(ours[:, 1], theirs[:, 1], atol=1e-6)


def test_a_close_up_shows_a_tenth_of_a_degree() -> None:
    picture = heat(close_up=True)
    ticks = [float(t) for t in words(picture) if t.replace(".", "").isdigit()]

    assert min(ticks) >= 60
    assert max(ticks) - min(ticks) <= 10


def test_a_trace_on_which_nothing_measures_the_product_is_refused() -> None:
    with pytest.raises(ValueError, match="measure the product"):
        heat_chart(HeatChart("t", "d", vat_trace(), {"T1": "other"}, 63.0, PARIS))


def test_an_acidity_limit_by_the_hour_is_said_in_words() -> None:
    assert "≤ 5.30 by 6 h" in words(acidity())
    assert {"≤ 5.30 by 6 h", "≤ 4.70 by 24 h", "pH 4.62"} <= set(words(acidity(hours=11, second_limit=True)))


def test_each_acidity_limit_ends_where_the_next_begins() -> None:
    picture = acidity(hours=11, second_limit=True)
    zones = [item for item in picture.items if isinstance(item, Rect) and item.role is Role.FORBIDDEN]
    first, second = sorted(zones, key=lambda zone: zone.x)

    assert first.x + first.width == pytest.approx(second.x)
    assert second.height > first.height


def test_a_titratable_acidity_must_be_reached_so_the_side_below_is_forbidden() -> None:
    chart = AcidityChart(
        "Titratable acidity",
        "Rising.",
        STARTER_AT,
        [STARTER_AT],
        [16.0],
        (AcidityLimit(9000, 28.0, at_most=False),),
        unit="°D",
        decimals=0,
    )
    picture = acidity_chart(chart)
    (zone,) = (item for item in picture.items if isinstance(item, Rect) and item.role is Role.FORBIDDEN)
    plot = next(item for item in picture.items if isinstance(item, Rect) and item.role is Role.PLOT)

    assert "≥ 28 by 2 h 30 min" in words(picture)
    assert zone.y + zone.height == pytest.approx(plot.y + plot.height)


def test_every_reading_is_marked_and_none_before_the_first() -> None:
    def discs(picture: Picture) -> int:
        return sum(isinstance(item, Circle) for item in picture.items)

    assert discs(acidity(hours=7)) == 7
    assert discs(acidity(hours=0)) == 0


def test_missed_checks_are_hollow_triangles_with_their_time() -> None:
    picture = climate()
    triangles = [item for item in picture.items if isinstance(item, Polygon) and item.role is Role.MISSED]

    assert len(triangles) == 2
    assert all(triangle.hollow and len(triangle.points) == 3 for triangle in triangles)
    # Due at 07:00 on the clock every twelve hours while summer time lasts, at 06:00 after it has ended on 25 Oct.
    assert {"missed 22 Oct 19:00", "missed 24 Oct 07:00"} <= set(words(picture))


def test_no_line_runs_across_a_missed_check_or_a_gap() -> None:
    picture = climate()
    lines = [item for item in picture.items if isinstance(item, Polyline) and item.role is Role.SERIES_1]
    triangles = [item.points[:, 0].mean() for item in picture.items if isinstance(item, Polygon)]
    (gap,) = (item for item in picture.items if isinstance(item, Rect) and item.role is Role.GAP)

    assert len(lines) == 4
    for x in [*triangles, gap.x + 1]:
        assert not any(line.points[0, 0] < x < line.points[-1, 0] for line in lines)


def test_many_missed_checks_are_counted_in_one_label() -> None:
    said = words(climate(missed=7))

    assert "7 missed checks" in said
    assert not [text for text in said if text.startswith("missed ")]


def test_a_room_says_both_its_limits_and_both_its_targets() -> None:
    assert {"≥ 10.0 °C", "≤ 13.0 °C", "10.5 °C target", "12.5 °C target"} <= set(words(climate()))


@pytest.mark.parametrize("draw", [timeline, vertical_timeline])
def test_a_timeline_says_every_step_once_with_its_local_time(draw) -> None:
    said = " ".join(words(draw(make())))

    for label in (
        "Milk in",
        "Heat treatment",
        "Starter",
        "Rennet",
        "Cut",
        "Stirred",
        "Drained",
        "Moulded",
        "Brined",
    ):
        assert said.count(label) == 1
    assert said.count("Turned") == 2
    assert "06:40" in said  # 05:40 UTC
    assert "20 Nov 2026" in said


def test_a_timeline_is_to_scale() -> None:
    discs = [i for i in timeline(make()).items if isinstance(i, Circle)]
    x = [disc.x for disc in discs]

    # milk at 0, heat treatment at 35, starter at 95 minutes
    assert (x[2] - x[0]) / (x[1] - x[0]) == pytest.approx(95 / 35)


def test_what_went_wrong_has_its_own_shape() -> None:
    wrong = [i for i in timeline(make()).items if isinstance(i, Polygon)]

    assert [(len(i.points), i.hollow, i.role) for i in wrong] == [(4, True, Role.PROBLEM)]


def test_steps_given_out_of_order_are_drawn_in_order() -> None:
    shuffled = replace(make(), steps=make().steps[::-1])

    assert words(timeline(shuffled)) == words(timeline(make()))


def test_a_make_with_too_many_steps_for_two_rows_becomes_a_list() -> None:
    picture = timeline(make(36))

    assert picture.height > 36 * 20
    assert sum("Rennet" in text for text in words(picture)) == 3


def test_a_timeline_without_steps_or_with_naive_times_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one step"):
        Timeline("t", "d", (), PARIS)
    with pytest.raises(ValueError, match="aware"):
        Timeline("t", "d", (replace(make().steps[0], at=make().steps[0].at.replace(tzinfo=None)),), PARIS)


def test_a_phone_gets_a_narrow_sheet() -> None:
    assert heat(COMPACT).width == vertical_timeline(make()).width == 390
