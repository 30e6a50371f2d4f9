import numpy as np
import pytest
from lxml import etree

from haccp.drawing.picture import (
    DASHED,
    Anchor,
    Circle,
    Line,
    Path,
    Picture,
    Polyline,
    Rect,
    Shape,
    Text,
    marker,
    points,
)
from haccp.drawing.roles import Role
from haccp.drawing.svg import number, to_svg, to_svg_pair

SVG = "{http://www.w3.org/2000/svg}"


def drawn(*items: object) -> etree._Element:
    picture = Picture(100, 50, "Title", "Description", tuple(items))
    return etree.fromstring(to_svg(picture, id_prefix="x")).find(f"{SVG}g")


def test_text_of_a_user_is_escaped_everywhere() -> None:
    nasty = """</text><script>alert("1")</script> & 'Époisses' <b>"""
    picture = Picture(100, 50, nasty, nasty, (Text(1, 2, nasty, 12),))

    root = etree.fromstring(to_svg(picture, id_prefix='a"b', css_class='c"d'))

    assert root.find(f"{SVG}title").text == nasty
    assert root.find(f"{SVG}desc").text == nasty
    assert root.find(f"{SVG}g/{SVG}text").text == nasty
    assert root.get("class") == 'pic c"d'
    assert not list(root.iter(f"{SVG}script"))


def test_each_item_keeps_its_geometry_role_and_dash() -> None:
    line, polyline, rect, circle, path = drawn(
        Line(1, 2, 3.456789, 4, Role.LIMIT, DASHED),
        Polyline(np.array([[0.0, 1.0], [2.5, 3.0]]), Role.SERIES_1),
        Rect(1, 2, 3, 4, Role.GAP, hatch=True, radius=2),
        Circle(5, 6, 7, Role.MISSED, hollow=True),
        Path((("M", 1, 2), ("C", 3, 4, 5, 6, 7, 8), ("Z",)), Role.HOLD, filled=True),
    )

    assert dict(line.attrib) == {
        "class": "pic-limit pic-line",
        "x1": "1",
        "y1": "2",
        "x2": "3.46",
        "y2": "4",
        "stroke-dasharray": "7 4",
    }
    assert polyline.get("points") == "0,1 2.5,3"
    assert (rect.get("fill"), rect.get("rx")) == ("url(#x-hatch-gap)", "2")
    assert circle.get("class") == "pic-missed pic-hollow"
    assert (path.get("d"), path.get("class")) == ("M1 2 C3 4 5 6 7 8 Z", "pic-hold pic-area")


def test_text_carries_its_anchor_weight_and_turn() -> None:
    (text,) = drawn(Text(10, 20, "°C", 13, anchor=Anchor.END, bold=True, rotate=-90, halo=True))

    assert text.get("text-anchor") == "end"
    assert text.get("font-weight") == "700"
    assert text.get("transform") == "rotate(-90 10 20)"
    assert "pic-halo" in text.get("class")


def test_a_wide_and_a_compact_drawing_share_a_page_without_sharing_an_id() -> None:
    picture = Picture(10, 10, "t", "d", (Rect(0, 0, 1, 1, Role.GAP, hatch=True),))
    both = etree.fromstring(f"<div>{to_svg_pair(picture, picture, id_prefix='heat')}</div>")

    ids = [element.get("id") for element in both.iter() if element.get("id")]
    assert len(ids) == len(set(ids)) == 6
    assert ["pic-wide" in both[0].get("class"), "pic-compact" in both[1].get("class")] == [True, True]


@pytest.mark.parametrize(
    ("value", "written"), [(1.0, "1"), (0.126, "0.13"), (-0.001, "0"), (1234.5, "1234.5"), (100.0, "100")]
)
def test_coordinates_are_written_compactly(value: float, written: str) -> None:
    assert number(value) == written


@pytest.mark.parametrize("shape", Shape)
def test_every_marker_is_centred_on_its_point(shape: Shape) -> None:
    item = marker(shape, 50, 20, 4, Role.SERIES_1)

    if isinstance(item, Circle):
        centre = (item.x, item.y)
    elif isinstance(item, Rect):
        centre = (item.x + item.width / 2, item.y + item.height / 2)
    else:
        centre = tuple(item.points.mean(axis=0))
    assert centre == pytest.approx((50, 20), abs=1)


def test_points_become_an_array_of_pairs() -> None:
    assert points([(1, 2), (3, 4)]).shape == (2, 2)
