"""A cheese goes into a ripening room, and the room is then found too warm."""

from playwright.sync_api import expect

from tests.browser.visitor import Visitor

PRESCRIBED = "Move the cheeses to the other room; find out since when."


def places_the_batch(visitor: Visitor) -> None:
    batch = visitor.page.url
    visitor.follow("Place in a room")
    visitor.answer("Room 1")
    visitor.fill("When", visitor.scene.typed(0.5))
    visitor.press("Save the move")
    visitor.page.goto(batch)
    visitor.sees("Room 1")


def finds_it_too_warm(visitor: Visitor) -> None:
    """Leads to the deviation that the reading opened."""
    visitor.to_room("Today")
    visitor.does_now("Room 1 temperature")
    visitor.fill("Top shelf", "40.000 °C?")
    visitor.choose("Instrument", "Thermometer")
    visitor.press("Save")
    visitor.sees("What you typed is still here.")
    visitor.fill("Top shelf", "16,8")
    visitor.press("Save")
    answer = visitor.main.get_by_role("status").filter(has_text="Saved.")
    expect(answer).to_contain_text("breached")
    expect(answer).to_contain_text("16.8 °C")
    expect(answer).to_contain_text("It opened deviation")
    expect(answer).to_contain_text(PRESCRIBED)
    answer.get_by_role("link", name="deviation").click()
    visitor.sees("What happened", "breached", PRESCRIBED)


def finds_the_batch_on_hold(visitor: Visitor, batch: str) -> None:
    deviation = visitor.page.url
    visitor.page.goto(batch)
    visitor.sees("Not to be sold: on hold")
    visitor.to_room("Makes")
    visitor.sees("on hold")
    visitor.page.goto(deviation)
