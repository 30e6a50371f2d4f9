"""The label sizes that pictures reckon with, against those of a real browser."""

import os
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from haccp.drawing.picture import Text
from haccp.drawing.svg import to_svg
from haccp.drawing.typeface import text_width
from tests.drawing.scenes import all_scenes

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
CSS = Path(__file__).parents[2] / "haccp" / "static" / "css" / "pictures.css"

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here: set CHROMIUM to its path"),
]

WIDTHS = """() => [...document.querySelectorAll('svg')].map(svg =>
  [...svg.querySelectorAll('text')].map(t => t.getComputedTextLength()))"""


def test_no_label_is_wider_in_a_browser_than_it_was_reckoned(tmp_path) -> None:
    scenes = all_scenes()
    page_file = tmp_path / "pictures.html"
    body = "".join(
        f'<div style="width:{picture.width}px">{to_svg(picture, id_prefix=name)}</div>'
        for name, picture in scenes.items()
    )
    page_file.write_text(f'<meta charset="utf-8"><link rel="stylesheet" href="{CSS.as_uri()}">{body}', "utf-8")

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--allow-file-access-from-files"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(page_file.as_uri())
        page.evaluate("() => document.fonts.ready")
        assert page.evaluate("""() => document.fonts.check('13px "Source Sans 3"')""")
        measured = page.evaluate(WIDTHS)
        browser.close()

    for (name, picture), widths in zip(scenes.items(), measured, strict=True):
        texts = [item for item in picture.items if isinstance(item, Text)]
        assert len(widths) == len(texts)
        for text, width in zip(texts, widths, strict=True):
            reckoned = text_width(text.text, text.size, bold=text.bold)
            assert 0.9 * reckoned < width <= reckoned, (name, text.text)
