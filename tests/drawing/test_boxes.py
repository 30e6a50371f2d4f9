from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from haccp.drawing.boxes import Box, spread, stagger

labels = st.lists(st.tuples(st.floats(0, 400), st.floats(10, 30)), min_size=1, max_size=12)
flags = st.lists(st.tuples(st.floats(0, 900), st.floats(20, 200)), min_size=1, max_size=14)


@given(labels)
def test_spread_labels_keep_their_order_and_never_overlap(wanted: list[tuple[float, float]]) -> None:
    places, heights = zip(*wanted, strict=True)

    centres = spread(places, heights, 0, 400)

    by_wish = sorted(range(len(places)), key=lambda i: places[i])
    for upper, lower in pairwise(by_wish):
        assert centres[lower] - centres[upper] >= (heights[lower] + heights[upper]) / 2 - 1e-6
    assert min(c - h / 2 for c, h in zip(centres, heights, strict=True)) >= -1e-6
    assert max(c + h / 2 for c, h in zip(centres, heights, strict=True)) <= 400 + 1e-6


def test_labels_with_room_stay_where_they_are_wanted() -> None:
    assert spread([50, 100, 300], [20, 20, 20], 0, 400) == [50, 100, 300]


def test_two_labels_wanted_at_one_place_share_it_evenly() -> None:
    assert spread([100, 100], [20, 20], 0, 400) == [90, 110]


@given(flags)
def test_staggered_flags_never_overlap_and_stay_between_the_edges(wanted: list[tuple[float, float]]) -> None:
    anchors, widths = zip(*wanted, strict=True)

    placed = stagger(anchors, widths, 0, 900, 6)

    boxes = [Box(f.left, f.row, f.left + w, f.row + 1) for f, w in zip(placed, widths, strict=True)]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    assert all(box.left >= 0 and box.right <= 900 + 1e-6 for box in boxes)


@given(flags)
def test_no_staff_runs_through_a_flag_that_flies_freely(wanted: list[tuple[float, float]]) -> None:
    anchors, widths = zip(*wanted, strict=True)

    placed = stagger(anchors, widths, 0, 900, 6)

    for i, flag in enumerate(placed):
        if flag.left < anchors[i]:
            continue  # moved left for want of room: its halo keeps it readable on a staff
        crossing = [
            j for j, f in enumerate(placed) if f.row > flag.row and flag.left < anchors[j] < flag.left + widths[i]
        ]
        assert crossing == []
