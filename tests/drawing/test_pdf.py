import re

import pytest
from pypdf import PdfReader
from reportlab.pdfbase import pdfmetrics
from reportlab.platypus import SimpleDocTemplate

from haccp.drawing.pdf import PictureFlowable
from haccp.drawing.picture import Circle, Line, Path, Picture, Polyline, Text, points
from haccp.drawing.roles import Role
from haccp.drawing.typeface import BOLD, REGULAR, register_typeface, text_width, wrap
from tests.drawing.scenes import heat


def printed(tmp_path, *flowables: PictureFlowable) -> PdfReader:
    register_typeface()
    file = tmp_path / "paper.pdf"
    SimpleDocTemplate(str(file)).build(list(flowables))
    return PdfReader(file)


def test_a_picture_fills_the_width_and_keeps_its_proportions() -> None:
    flowable = PictureFlowable(Picture(400, 100, "t", "d", ()))

    assert flowable.wrap(200, 1000) == (200, 50)
    assert PictureFlowable(Picture(400, 100, "t", "d", ()), width=80).wrap(200, 1000) == (80, 20)


def test_words_of_many_scripts_come_out_of_the_paper_as_they_went_in(tmp_path) -> None:
    words = ["Šmarje ≥ 63 °C", "Φέτα ΠΟΠ", "сир із козячого молока", "Ħobż u ġbejna", "½ × ≤ → ✓"]
    items = tuple(Text(5, 20 * (i + 1), text, 12, bold=i % 2 == 1) for i, text in enumerate(words))

    text = printed(tmp_path, PictureFlowable(Picture(300, 120, "t", "d", items))).pages[0].extract_text()

    for expected in words:
        assert expected in text


def test_a_halo_leaves_the_next_words_as_they_are(tmp_path) -> None:
    items = (Text(5, 20, "halo", 12, halo=True), Text(5, 50, "plain", 12))

    page = printed(tmp_path, PictureFlowable(Picture(300, 120, "t", "d", items))).pages[0]
    content = page.get_contents().get_data().decode("latin-1")

    # PDF 32000-1, table 106: 0 fills, 2 fills and strokes; the mode outlives a text object.
    assert re.findall(r"(\d) Tr", content) == ["2", "0"]


def test_a_line_of_many_points_is_one_path(tmp_path) -> None:
    line = Polyline(points([(i, 50 + i % 7) for i in range(900)]), Role.SERIES_1)

    page = printed(tmp_path, PictureFlowable(Picture(900, 100, "t", "d", (line,)))).pages[0]
    content = page.get_contents().get_data().decode("latin-1").split()

    assert content.count("l") == 899
    assert content.count("S") == 1


def test_y_points_up_on_paper(tmp_path) -> None:
    line = Line(0, 10, 100, 10, Role.AXIS)

    page = printed(tmp_path, PictureFlowable(Picture(100, 40, "t", "d", (line,)), width=100)).pages[0]

    assert "0 30 m 100 30 l S" in " ".join(page.get_contents().get_data().decode("latin-1").split())


def test_curves_and_hollow_marks_are_drawn(tmp_path) -> None:
    items = (
        Path((("M", 0, 0), ("C", 10, 0, 20, 10, 20, 20), ("L", 0, 20), ("Z",)), Role.HOLD, filled=True),
        Circle(30, 30, 5, Role.MISSED, hollow=True),
    )

    page = printed(tmp_path, PictureFlowable(Picture(100, 40, "t", "d", items), width=100)).pages[0]
    content = " ".join(page.get_contents().get_data().decode("latin-1").split())

    assert "0 40 m 10 40 20 30 20 20 c 0 20 l h f" in content


def test_the_fonts_named_by_the_caller_are_used(tmp_path) -> None:
    reader = printed(tmp_path, PictureFlowable(heat(), font=BOLD, bold_font=BOLD))

    fonts = {font.get_object()["/BaseFont"] for font in reader.pages[0]["/Resources"]["/Font"].values()}
    assert any("SourceSans3-Bold" in name for name in fonts)
    assert not any("SourceSans3-Regular" in name for name in fonts)


def test_words_wrap_at_the_width_and_lose_none() -> None:
    lines = wrap("06:40 · 450 L of ewe's milk, 4.2 °C", 13, 90)

    assert " ".join(lines) == "06:40 · 450 L of ewe's milk, 4.2 °C"
    assert all(text_width(line, 13) <= 90 for line in lines)
    assert wrap("", 13, 90) == [""]


def test_bold_words_are_wider() -> None:
    assert text_width("63.0 °C limit", 13, bold=True) > text_width("63.0 °C limit", 13) > 0
    assert REGULAR != BOLD


@pytest.mark.parametrize("sample", ["ÀÉÎÕÜßÆØÅŁŠŽĐŐŰȘȚĞİĦŻ", "ΑΒΓΔΩάέήίόύώ", "АБВГДЖЩЮЯЇЄҐЂЋЏЈЉЊ", "≥≤±°×–·→−½µ✓"])
def test_the_typeface_has_every_letter_of_europe(sample: str) -> None:
    register_typeface()
    for name in ("SourceSans3", "SourceSans3-Bold", "SourceSans3-Italic", "SourceSans3-BoldItalic"):
        glyphs = pdfmetrics.getFont(name).face.charToGlyph
        assert [letter for letter in sample if ord(letter) not in glyphs] == []
