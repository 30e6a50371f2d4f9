"""pH through the make, against a limit by elapsed time: not yet decided, then met."""

from playwright.sync_api import expect

from tests.browser.visitor import Visitor


def adds_starter(visitor: Visitor) -> None:
    """On the page of the batch."""
    visitor.part("What happens next?").get_by_label("When", exact=True).fill(visitor.scene.typed(4))
    visitor.press("Starter added")
    visitor.sees("Starter added at", "saved.")
    expect(visitor.part("Checks").get_by_text("pH of the curd", exact=True)).to_have_count(3)


def reads_ph(visitor: Visitor, value: str, *, hours_ago: float, ruling: str) -> None:
    """The first of the checks that can be done now; back to the batch."""
    batch = visitor.page.url
    visitor.does_now("pH of the curd")
    visitor.fill("pH", value)
    visitor.choose("Instrument", "pH meter")
    visitor.fill("When you looked", visitor.scene.typed(hours_ago))
    visitor.press("Save")
    visitor.sees("Saved.", ruling, "pH at most 5.40 within 6 h of the starter")
    visitor.page.goto(batch)


def follows_the_curve(visitor: Visitor) -> None:
    reads_ph(visitor, "6,35", hours_ago=3, ruling="not yet decided")
    visitor.sees("not yet decided")
    reads_ph(visitor, "5.80", hours_ago=1, ruling="not yet decided")
    reads_ph(visitor, "5,21", hours_ago=0, ruling="met")
    curve = visitor.main.locator("section").filter(has_text="The curve in numbers")
    expect(curve.get_by_role("img").locator("visible=true").first).to_be_visible()
    curve.get_by_text("The curve in numbers").click()
    expect(curve.get_by_role("row")).to_have_count(4)
