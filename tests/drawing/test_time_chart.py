from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from haccp.drawing.chart import Deadline, Event, Level, Mark, Series, Side, Span, TimeChart, offsets_s
from haccp.drawing.layout import COMPACT, WIDE
from haccp.drawing.picture import Circle, Line, Picture, Polyline, Rect, Shape, Text
from haccp.drawing.roles import Role
from haccp.drawing.time_chart import time_chart

START = datetime(2026, 11, 20, 7, 0, tzinfo=UTC)
HOUR = 3600.0


def chart(**changes: object) -> TimeChart:
    plain = TimeChart(
        title="Milk tank",
        description="Cooled.",
        unit="°C",
        origin=START,
        zone=ZoneInfo("Europe/Paris"),
        series=(Series("Milk", np.array([0.0, HOUR, 2 * HOUR]), np.array([10.0, 6.0, 4.0])),),
        window_s=(0.0, 4 * HOUR),
        value_range=(0.0, 10.0),
    )
    return replace(plain, **changes)


def plot(picture: Picture) -> Rect:
    return next(item for item in picture.items if isinstance(item, Rect) and item.role is Role.PLOT)


def all_of(picture: Picture, kind: type, role: Role) -> list:
    return [item for item in picture.items if isinstance(item, kind) and item.role is role]


def text(picture: Picture, words: str) -> Text:
    return next(item for item in picture.items if isinstance(item, Text) and item.text == words)


def test_known_points_lie_where_the_scales_put_them() -> None:
    picture = time_chart(chart())
    area = plot(picture)

    (line,) = all_of(picture, Polyline, Role.SERIES_1)

    share = (line.points - [area.x, area.y]) / [area.width, area.height]
    np.testing.assert_allclose(share, [[0, 0], [0.25, 0.4], [0.5, 0.6]], atol=1e-9)


def test_a_limit_runs_across_the_plot_at_its_value_and_says_it() -> None:
    picture = time_chart(chart(levels=(Level(6.0, "6.0 °C limit"),)))
    area = plot(picture)

    line = next(item for item in all_of(picture, Line, Role.LIMIT) if item.x1 == area.x)

    assert (line.x2, line.y1, line.y2) == (
        area.x + area.width,
        pytest.approx(area.y + 0.4 * area.height),
        pytest.approx(area.y + 0.4 * area.height),
    )
    assert text(picture, "6.0 °C limit").x > area.x + area.width


def test_clock_ticks_stand_at_local_hours() -> None:
    picture = time_chart(chart())
    area = plot(picture)

    # 07:00 UTC is 08:00 in Paris in winter.
    assert text(picture, "09:00").x == pytest.approx(area.x + 0.25 * area.width)


def test_a_deadline_forbids_one_side_from_its_moment_on() -> None:
    deadline = Deadline(2 * HOUR, 5.0, "≤ 5 by 2 h", Side.ABOVE)
    picture = time_chart(chart(deadlines=(deadline,)))
    area = plot(picture)

    (zone,) = all_of(picture, Rect, Role.FORBIDDEN)

    assert zone.hatch
    assert (zone.x, zone.width) == (pytest.approx(area.x + area.width / 2), pytest.approx(area.width / 2))
    assert (zone.y, zone.height) == (pytest.approx(area.y), pytest.approx(area.height / 2))


def test_a_deadline_for_a_rising_value_forbids_the_side_below_until_it_ends() -> None:
    deadline = Deadline(1 * HOUR, 5.0, "≥ 5 by 1 h", Side.BELOW, until_s=3 * HOUR)
    picture = time_chart(chart(deadlines=(deadline,)))
    area = plot(picture)

    (zone,) = all_of(picture, Rect, Role.FORBIDDEN)

    assert zone.width == pytest.approx(area.width / 2)
    assert zone.y + zone.height == pytest.approx(area.y + area.height)


def test_no_line_is_drawn_through_silence() -> None:
    t = np.array([0.0, 10.0, 20.0, 3600.0, 3610.0])
    series = Series("Milk", t, np.full(5, 5.0), longest_gap_s=60.0)

    lines = all_of(time_chart(chart(series=(series,))), Polyline, Role.SERIES_1)

    assert [len(line.points) for line in lines] == [3, 2]


def test_a_sample_between_two_silences_is_still_seen() -> None:
    series = Series("Milk", np.array([0.0, 10.0, 3600.0]), np.full(3, 5.0), longest_gap_s=60.0)

    assert len(all_of(time_chart(chart(series=(series,))), Circle, Role.SERIES_1)) == 1


def test_what_lies_outside_the_part_shown_is_left_out() -> None:
    picture = time_chart(
        chart(
            series=(Series("Milk", np.array([0.0, HOUR, 9 * HOUR]), np.array([4.0, 25.0, 4.0]), shape=Shape.DISC),),
            events=(Event(-HOUR, "before"), Event(HOUR, "within"), Event(5 * HOUR, "after")),
            spans=(Span(5 * HOUR, 6 * HOUR, "later", Role.GAP),),
            marks=(Mark(8 * HOUR, 4.0, "much later"),),
        )
    )
    words = {item.text for item in picture.items if isinstance(item, Text)}
    area = plot(picture)

    assert "within" in words
    assert not words & {"before", "after", "later", "much later"}
    assert len(all_of(picture, Circle, Role.SERIES_1)) == 1
    for line in all_of(picture, Polyline, Role.SERIES_1):
        assert line.points[:, 1].min() >= area.y - 1e-6


def test_a_line_is_cut_where_it_leaves_the_plot_not_bent() -> None:
    series = Series("Milk", np.array([0.0, 2 * HOUR]), np.array([5.0, 15.0]))
    picture = time_chart(chart(series=(series,)))
    area = plot(picture)

    (line,) = all_of(picture, Polyline, Role.SERIES_1)

    np.testing.assert_allclose(line.points[-1], [area.x + area.width / 4, area.y])


def test_a_gap_is_hatched_and_a_hold_is_not() -> None:
    spans = (Span(0, HOUR, "hold"), Span(HOUR, 2 * HOUR, "no record", Role.GAP))
    picture = time_chart(chart(spans=spans))

    assert [rect.hatch for rect in all_of(picture, Rect, Role.HOLD)] == [False]
    assert [rect.hatch for rect in all_of(picture, Rect, Role.GAP)] == [True]


def test_the_sheet_grows_when_its_labels_need_more_room() -> None:
    many = tuple(Level(5.0 + i / 100, f"limit number {i} of a very long name") for i in range(20))

    assert time_chart(chart(levels=many, layout=COMPACT)).height > COMPACT.height
    assert time_chart(chart(layout=WIDE)).height == WIDE.height


def test_a_line_of_a_million_samples_becomes_a_small_drawing() -> None:
    t = np.linspace(0, 4 * HOUR, 1_000_000)
    values = 5 + np.sin(t)
    values[500_000] = 9.5

    picture = time_chart(chart(series=(Series("Milk", t, values),)))
    (line,) = all_of(picture, Polyline, Role.SERIES_1)
    area = plot(picture)

    assert len(line.points) <= 4 * area.width
    assert line.points[:, 1].min() == pytest.approx(area.y + 0.05 * area.height)


def test_datetimes_become_offsets() -> None:
    times = [datetime(2026, 11, 20, 9, 0, tzinfo=ZoneInfo("Europe/Paris"))]

    assert offsets_s(times, START).tolist() == [3600.0]


def test_a_chart_without_an_aware_origin_or_without_anything_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        chart(origin=START.replace(tzinfo=None))
    with pytest.raises(ValueError, match="value_range"):
        chart(series=(), value_range=None)


def test_three_series_of_one_level_are_still_named_apart() -> None:
    t = np.array([0.0, 4 * HOUR])
    series = tuple(
        Series(f"Probe {i}", t, np.full(2, 5.0), role)
        for i, role in enumerate((Role.SERIES_1, Role.SERIES_2, Role.SERIES_3))
    )
    picture = time_chart(chart(series=series))

    ys = sorted(text(picture, f"Probe {i}").y for i in range(3))
    assert min(np.diff(ys)) >= WIDE.size
