"""The visit pack of the last thirty days: asked for, watched, opened, read."""

import io
import re
from datetime import timedelta

from playwright.sync_api import expect
from pypdf import PdfReader

from tests.browser.visitor import PATIENCE_MS, Visitor

# What the PDF must tell of this day, wherever it is printed.
TOLD = (
    "Reed Tomme",
    "CCP 1",
    "Pasteurisation",
    "At least 63 °C for 30 min",
    "pH at most 5.40 within 6 h of the starter",
    "Room 1 temperature",
    "Vat 1 cleaned",
    "The door was left ajar from six o'clock.",
    "A door closer is fitted and the evening round looks at it.",
    "The key to room 2 was at the other farm.",
    "Milo of",
    "Orla of",
)

NOTE_PROGRESS = """
    new MutationObserver(() => {
        const bar = document.querySelector("progress");
        if (bar) sessionStorage.setItem("progress", `${bar.value} of ${bar.max}`);
    }).observe(document, {childList: true, subtree: true});
"""


def asks_for_a_pack(visitor: Visitor) -> None:
    visitor.to_room("Visit packs")
    day = visitor.scene.day
    expect(visitor.main.get_by_label("From", exact=True)).to_have_value(f"{day - timedelta(days=29)}")
    visitor.fill("From", f"{day + timedelta(days=1)}")
    visitor.press("Make the pack")
    visitor.sees("This pack cannot be made")
    visitor.fill("From", f"{day - timedelta(days=29)}")
    # The page asks again by itself, so what it showed first is noted inside it as it appears.
    visitor.page.add_init_script(NOTE_PROGRESS)
    visitor.press("Make the pack")
    visitor.at("Visit pack")
    assert visitor.page.evaluate("sessionStorage.getItem('progress')"), "the page shows how far it has come"


def opens_it(visitor: Visitor) -> None:
    expect(visitor.main).to_contain_text("Finished", timeout=2 * PATIENCE_MS)
    with visitor.page.expect_download() as download:
        visitor.follow("Save it")
    path = download.value.path()
    assert download.value.suggested_filename.endswith(".pdf")
    reads(path.read_bytes())


def reads(pdf: bytes) -> None:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    text = re.sub(r"\s+", " ", " ".join(pages))
    for told in TOLD:
        assert told in text, f"the pack does not tell “{told}”"
    for number, page in enumerate(pages, start=1):
        assert re.search(rf"(?i)page\s+{number}\s+of\s+{len(pages)}\b", page), f"page {number} has no number"
