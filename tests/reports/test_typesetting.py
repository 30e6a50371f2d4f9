"""What is on the pages stays on the pages: boxes read back with pdfplumber, whatever was typed."""

import io
import unicodedata
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pdfplumber
import pytest

from haccp.reports.draw.glyphs import markup, printable
from haccp.reports.draw.lines import lines
from haccp.reports.draw.paper import A4, LETTER, paper_of
from haccp.reports.models import VisitPack
from tests.dairy import Dairy, open_dairy
from tests.reports import history, reading
from tests.reports.conftest import MakePack

LONG_WORD = "Wensleydale" * 28  # more than 300 letters without a place to break


def words_of(pack: VisitPack) -> Iterator[tuple[Any, list[dict[str, Any]]]]:
    with pack.file.open("rb") as content, pdfplumber.open(io.BytesIO(content.read())) as pdf:
        for page in pdf.pages:
            # A label with a halo is drawn twice in one place, first its halo and then its letters.
            yield (
                page,
                page.dedupe_chars(tolerance=0.1, extra_attrs=("size",)).extract_words(
                    use_text_flow=True, keep_blank_chars=True, extra_attrs=["size"]
                ),
            )


def overlapping(words: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Pairs whose boxes share more than a sliver; boxes are as high as the type, lines stand a fifth apart."""
    found = []
    ordered = sorted(words, key=lambda word: word["top"])
    for i, one in enumerate(ordered):
        for other in ordered[i + 1 :]:
            if other["top"] >= one["bottom"] - 1:
                break
            across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
            down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
            if across > 0.6 and down > 0.35 * min(one["size"], other["size"]):
                found.append((one["text"], other["text"]))
    return found


def assert_all_inside(pack: VisitPack) -> None:
    for page, words in words_of(pack):
        for word in words:
            assert word["x0"] >= A4.left - 1, word
            assert word["x1"] <= page.width - A4.right + 1, word
            assert word["top"] > 20, word
            assert word["bottom"] < page.height - 20, word
        assert overlapping(words) == [], page.page_number


def test_nothing_leaves_the_page_or_lies_over_other_text(dairy: Dairy, make_pack: MakePack) -> None:
    history.eventful_week(dairy)
    assert_all_inside(make_pack(dairy.owner))


@pytest.mark.parametrize(
    "note",
    [LONG_WORD, "All is well. " * 300, "a\n" * 150, "<b>&amp;</i> <a href='#x'>"],
    ids=["one long word", "longer than a page", "many lines", "markup"],
)
def test_text_of_any_length_stays_inside_and_is_whole(dairy: Dairy, make_pack: MakePack, note: str) -> None:
    at = history.FIRST_DAY + timedelta(hours=8)
    dairy.save("Room 1 temperature", "17.0", at=at, instrument_id=dairy.thermometer.id, note=note)
    history.give_reasons(dairy, note, at)
    pack = make_pack(dairy.owner)
    assert_all_inside(pack)
    assert "".join(note.split()) in _without_page_furniture(pack)


def _without_page_furniture(pack: VisitPack) -> str:
    """Text without heads and feet, and without the table's head where it is repeated."""
    kept = []
    for page, words in words_of(pack):
        body = [w["text"] for w in words if 55 < w["top"] < page.height - 55]
        joined = "".join("".join(body).split())
        kept.append(joined.replace("EntryObservedOf,checkReadingLimitRulingWith,by", ""))
    return "".join(kept)


def test_names_in_greek_and_cyrillic_are_printed_as_they_are(db: None, make_pack: MakePack) -> None:
    dairy = open_dairy(name="Τυροκομείο Ψηλορείτη")
    history.room_round(dairy, history.FIRST_DAY, note="Сыр «Весенний» перевёрнут; жир 45 %")
    found = reading.squeezed(make_pack(dairy.owner))
    assert "ΤυροκομείοΨηλορείτη" in found
    assert "Сыр«Весенний»перевёрнут;жир45%" in found
    assert "standsforacharacter" not in found


def test_names_in_arabic_hebrew_and_east_asian_scripts_are_printed_joined_and_in_order(
    db: None, make_pack: MakePack
) -> None:
    dairy = open_dairy(name="مزرعة الوادي")
    notes = (
        "奶酪在熟成室中翻转。" * 12,
        "치즈를 뒤집었습니다 チーズ",
        "גבינת עיזים נהפכה",
        "الأجبان مقلوبة كل يوم " * 9,
    )
    for n, note in enumerate(notes):
        history.room_round(dairy, history.FIRST_DAY + timedelta(days=n), note=note)
    pack = make_pack(dairy.owner)
    assert_all_inside(pack)
    # pypdf turns words that run to the left round, and leaves them in the order of their ink; NFKC unjoins letters.
    inked = reading.squeezed(pack)
    found = unicodedata.normalize("NFKC", inked)
    assert "".join(notes[0].split()) in found
    assert "치즈를뒤집었습니다チーズ" in found
    assert "נהפכהעיזיםגבינת" in found
    assert "الواديمزرعة" in found
    assert found.count("مقلوبة") == 9
    # "كل": its first letter joined to its second, in the forms of Unicode's block of Arabic Presentation Forms-B.
    assert inked.count("\ufedb\ufede") == 9
    assert "standsforacharacter" not in found
    for page in reading.reader(pack).pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


def test_letters_that_the_typefaces_lack_are_shown_as_boxes_and_the_cover_says_so(
    dairy: Dairy, make_pack: MakePack
) -> None:
    history.room_round(dairy, history.FIRST_DAY, note="पनी turned")
    pack = make_pack(dairy.owner)
    assert "□ stands for a character that these typefaces lack" in reading.pages(pack)[0]
    assert "□□□ turned" in reading.text(pack)
    assert_all_inside(pack)


def test_a_pack_without_a_record_says_so_in_every_section(dairy: Dairy, make_pack: MakePack) -> None:
    found = " ".join(reading.text(make_pack(dairy.owner)).split())
    for sentence in (
        "No record in this period.",
        "No heat treatment was recorded in this period.",
        "No room's temperature or humidity was recorded in this period.",
        "No check was missed in this period.",
        "No deviation was open or occurred in this period.",
    ):
        assert sentence in found


def test_every_page_is_numbered_and_repeats_the_caution(dairy: Dairy, make_pack: MakePack) -> None:
    history.eventful_week(dairy)
    pack = make_pack(dairy.owner)
    by_page = [" ".join(page.split()) for page in reading.pages(pack)]
    assert pack.page_count == len(by_page)
    for number, page in enumerate(by_page, start=1):
        assert f"page {number} of" in page
        assert "licensed process authority" in page


def test_every_font_is_embedded(dairy: Dairy, make_pack: MakePack) -> None:
    history.eventful_week(dairy, days=2, closed=0)
    for page in reading.reader(make_pack(dairy.owner)).pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


def test_the_outline_and_the_contents_lead_to_the_pages_that_they_name(dairy: Dairy, make_pack: MakePack) -> None:
    history.eventful_week(dairy)
    pdf = reading.reader(make_pack(dairy.owner))
    flat: list[Any] = []

    def walk(items: list[Any]) -> None:
        for item in items:
            walk(item) if isinstance(item, list) else flat.append(item)

    walk(pdf.outline)
    by_title = {item.title: pdf.get_destination_page_number(item) + 1 for item in flat}
    contents = [line.strip() for page in pdf.pages[1:3] for line in page.extract_text().splitlines()]
    for title in ("What this period shows", "Heat treatments", "Deviations and corrective actions", "Signatures"):
        page = by_title[title]
        assert title in pdf.pages[page - 1].extract_text()
        place = next(i for i, line in enumerate(contents) if line.startswith(title))
        assert str(page) in (contents[place].removeprefix(title).strip(), contents[place + 1])


def test_title_author_and_language_are_set(dairy: Dairy, make_pack: MakePack) -> None:
    pdf = reading.reader(make_pack(dairy.owner))
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Food-safety records of Weir Farm Dairy, 1 Mar 2026 – 10 Mar 2026"
    assert pdf.metadata.author == "Weir Farm Dairy"
    assert pdf.trailer["/Root"]["/Lang"] == "en-GB"
    assert pdf.metadata.creation_date is None


def test_paper_follows_the_country() -> None:
    assert paper_of("EU") is A4
    assert paper_of("US") is LETTER
    # ISO 216 and ANSI/ASME Y14.1, in points
    assert (round(A4.width), round(A4.height)) == (595, 842)
    assert (LETTER.width, LETTER.height) == (612, 792)


def test_text_is_made_printable() -> None:
    assert printable("Caf\u0065\u0301 ✓ ≥ 63\u00a0°C") == "Caf\u00e9 ✓ ≥ 63\u00a0°C"
    assert printable("a\u200db\x07c\td") == "ab c d"
    assert printable("奶") == "奶"
    assert printable("प") == "□"
    assert markup("<b>&\n") == "&lt;b&gt;&amp;<br/>"


def test_lines_are_no_wider_than_they_may_be_and_lose_no_letter() -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for text in (LONG_WORD, "a b " * 100, "", "x", f"short {LONG_WORD} short"):
        found = lines(text, "SourceSans3", 8.0, 60.0)
        assert all(stringWidth(line, "SourceSans3", 8.0) <= 60.0 for line in found)
        assert "".join("".join(found).split()) == "".join(text.split())
