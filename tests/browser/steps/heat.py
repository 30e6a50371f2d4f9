"""The heat treatment from the recorder's file: what cannot be used is refused by line, what can is drawn and ruled."""

from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from playwright.sync_api import FilePayload, Locator, expect

from tests.browser import recordings
from tests.browser.visitor import Visitor

REFUSALS = {
    "probe_loose.csv": ("Line 150: Air space reads 9999 °C", "Check whether the probe was unplugged"),
    "cut_off.csv": ("Line 4: The file ends here", "Copy the whole file from the recorder again"),
    "memory_dump.csv": ("memory_dump.csv is not a text file", "Export the readings as CSV"),
}


def brings_in_the_recording(
    visitor: Visitor, write: Callable[[datetime, ZoneInfo], bytes], *, started_hours_ago: float = 4.9
) -> None:
    """From the page of the batch, and back to it."""
    batch = visitor.page.url
    start, zone = visitor.scene.ago(started_hours_ago), visitor.scene.zone
    visitor.does_now("Heat treatment")
    visitor.follow("Add the recorder’s file")
    for name, content in recordings.bad(start, zone).items():
        send(visitor, name, content)
        visitor.sees("Not saved", *REFUSALS[name])
    visitor.page.goto(batch)
    visitor.sees("No record of this batch yet.")
    visitor.does_now("Heat treatment")
    visitor.follow("Add the recorder’s file")
    send(visitor, "vat_1.csv", write(start, zone))
    visitor.at("what was read")
    visitor.sees("2700 samples", "met", "At least 63 °C for 30 min", "Not saved yet.")
    is_drawn(picture(visitor))
    visitor.choose("Instrument", "Recorder")
    visitor.press("Look again without saving")
    visitor.sees("Not saved yet.", "met")
    visitor.press("Save this heat treatment")
    visitor.sees("Saved.", "met", "2700 samples")
    is_drawn(picture(visitor))
    visitor.page.goto(batch)
    expect(visitor.part("Heat treatment")).to_contain_text("met")
    is_drawn(picture(visitor))


def send(visitor: Visitor, name: str, content: bytes) -> None:
    file: FilePayload = {"name": name, "mimeType": "text/csv", "buffer": content}
    visitor.page.set_input_files("[type=file]", files=[file])
    visitor.press("Read the file")


def picture(visitor: Visitor) -> Locator:
    """The chart of the heat treatment in the layout that this width shows."""
    charts = visitor.page.get_by_role("img", name="At least 63 °C for 30 min").locator("visible=true")
    expect(charts).to_have_count(1)
    return charts


def is_drawn(chart: Locator) -> None:
    """Both probes, the limit, and the hold that counts, with its length in words."""
    for mark in ("polyline.pic-series1", "polyline.pic-series2", "line.pic-limit", "rect.pic-hold"):
        expect(chart.locator(mark).first).to_be_attached()
    expect(chart).to_contain_text("63.0 °C limit")
    expect(chart).to_contain_text("Hold 34 min")
