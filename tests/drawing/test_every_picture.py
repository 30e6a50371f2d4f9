"""What holds for every picture that a page or paper shows."""

from itertools import combinations

import numpy as np
import pytest
from lxml import etree
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from haccp.drawing.boxes import Box, box_of
from haccp.drawing.pdf import draw_picture
from haccp.drawing.picture import Circle, Line, Picture, Polygon, Polyline, Rect, Text
from haccp.drawing.svg import to_svg
from haccp.drawing.typeface import register_typeface
from tests.drawing.scenes import all_scenes

SCENES = all_scenes()
SVG = "{http://www.w3.org/2000/svg}"

pytestmark = pytest.mark.parametrize("picture", SCENES.values(), ids=SCENES.keys())


def texts(picture: Picture) -> list[Text]:
    return [item for item in picture.items if isinstance(item, Text)]


def test_no_label_overlaps_another(picture: Picture) -> None:
    overlaps = [
        (one.text, other.text) for one, other in combinations(texts(picture), 2) if box_of(one).overlaps(box_of(other))
    ]

    assert overlaps == []


def test_no_label_leaves_the_sheet(picture: Picture) -> None:
    sheet = Box(0, 0, picture.width, picture.height)

    assert [text.text for text in texts(picture) if not box_of(text).inside(sheet)] == []


def test_type_is_never_under_11_pixels(picture: Picture) -> None:
    assert min(text.size for text in texts(picture)) >= 11


def test_no_ink_leaves_the_sheet(picture: Picture) -> None:
    def corners(item: object) -> list[tuple[float, float]]:
        if isinstance(item, Line):
            return [(item.x1, item.y1), (item.x2, item.y2)]
        if isinstance(item, Polyline | Polygon):
            return [(x, y) for x, y in item.points.tolist()]
        if isinstance(item, Rect):
            return [(item.x, item.y), (item.x + item.width, item.y + item.height)]
        if isinstance(item, Circle):
            return [(item.x - item.radius, item.y), (item.x + item.radius, item.y)]
        return []

    outside = [
        item
        for item in picture.items
        for x, y in corners(item)
        if not (-0.01 <= x <= picture.width + 0.01 and -0.01 <= y <= picture.height + 0.01)
    ]

    assert outside == []


def test_svg_is_well_formed_and_names_itself(picture: Picture) -> None:
    root = etree.fromstring(to_svg(picture, id_prefix="p1"))

    assert root.get("role") == "img"
    assert root.get("viewBox").split()[:2] == ["0", "0"]
    assert root.find(f"{SVG}title").text == picture.title
    assert root.find(f"{SVG}desc").text == picture.description
    assert {root.get("aria-labelledby"), root.get("aria-describedby")} == {
        root.find(f"{SVG}{tag}").get("id") for tag in ("title", "desc")
    }


def test_svg_obeys_a_strict_content_security_policy(picture: Picture) -> None:
    root = etree.fromstring(to_svg(picture, id_prefix="p1"))

    for element in root.iter():
        assert element.tag.removeprefix(SVG) not in {"script", "style", "foreignObject", "image"}
        assert "style" not in element.attrib
        assert not [name for name in element.attrib if name.startswith("on") or name.endswith("href")]


def test_every_reference_to_a_hatch_has_its_pattern(picture: Picture) -> None:
    root = etree.fromstring(to_svg(picture, id_prefix="p1"))

    used = {e.get("fill")[5:-1] for e in root.iter() if (e.get("fill") or "").startswith("url(#")}

    assert used == {pattern.get("id") for pattern in root.iter(f"{SVG}pattern")}


class CountingCanvas(Canvas):
    """Counts the marks painted; the lines of a hatch, drawn within a clip, belong to the mark that they fill."""

    painted = 0
    clipped = False

    def clipPath(self, *args: object, **kwargs: object) -> None:  # noqa: N802 — ReportLab's name
        self.clipped = True
        super().clipPath(*args, **kwargs)

    def restoreState(self) -> None:  # noqa: N802 — ReportLab's name
        self.clipped = False
        super().restoreState()

    def drawPath(self, *args: object, **kwargs: object) -> None:  # noqa: N802 — ReportLab's name
        self.painted += not self.clipped
        super().drawPath(*args, **kwargs)

    def line(self, *args: object) -> None:
        self.painted += 1
        super().line(*args)

    def circle(self, *args: object, **kwargs: object) -> None:
        self.painted += 1
        super().circle(*args, **kwargs)

    def drawText(self, text: object) -> None:  # noqa: N802 — ReportLab's name
        self.painted += 1
        super().drawText(text)


def test_page_and_paper_draw_the_same_items_and_words(picture: Picture, tmp_path) -> None:
    register_typeface()
    drawn = etree.fromstring(to_svg(picture, id_prefix="p1")).find(f"{SVG}g")
    file = tmp_path / "picture.pdf"
    canvas = CountingCanvas(str(file), pagesize=(picture.width, picture.height))
    draw_picture(canvas, picture, picture.width)
    canvas.save()

    halos = sum(text.halo for text in texts(picture))
    assert len(drawn) == len(picture.items)
    assert canvas.painted - halos == len(picture.items)
    on_paper = " ".join(PdfReader(file).pages[0].extract_text().split())
    for text in texts(picture):
        assert " ".join(text.text.split()) in on_paper, text.text


def test_paper_uses_embedded_fonts_only(picture: Picture, tmp_path) -> None:
    register_typeface()
    file = tmp_path / "picture.pdf"
    canvas = Canvas(str(file), pagesize=(picture.width, picture.height), initialFontName="SourceSans3")
    draw_picture(canvas, picture, picture.width)
    canvas.save()

    fonts = PdfReader(file).pages[0]["/Resources"]["/Font"]
    used = [fonts[name].get_object() for name in fonts]

    assert used
    assert all("/FontFile2" in font["/FontDescriptor"] for font in used)


def test_numbers_in_the_svg_are_compact_and_finite(picture: Picture) -> None:
    svg = to_svg(picture, id_prefix="p1")

    assert "nan" not in svg.lower()
    for item in picture.items:
        if isinstance(item, Polyline | Polygon):
            assert np.isfinite(item.points).all()
    assert len(svg) < 90_000
