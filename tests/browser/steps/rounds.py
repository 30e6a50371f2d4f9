"""The first page: what is late, due now, for later; and what the running schedule has flagged."""

from playwright.sync_api import expect

from tests.browser.visitor import Visitor

MISSED = "Missed, and nobody has said why"


def sees_the_rounds(visitor: Visitor) -> None:
    visitor.reloads_until("Due now")
    expect(visitor.part("Late")).to_contain_text("Room 1 temperature")
    expect(visitor.part("Late")).to_contain_text("late: was due at")
    expect(visitor.part("Late")).to_contain_text("Air between 8 and 14 °C")
    expect(visitor.part("Due now")).to_contain_text("Vat 1 cleaned")
    later = visitor.part("Later today")
    expect(later).to_contain_text("Room 2 temperature at night")
    expect(later.get_by_role("link", name="Do it now")).to_have_count(0)


def sees_what_the_schedule_flagged(visitor: Visitor) -> None:
    visitor.to_room("Today")
    visitor.reloads_until(MISSED)
    missed = visitor.part(MISSED)
    expect(missed.get_by_role("listitem")).to_have_count(1)
    expect(missed).to_contain_text("Room 2 temperature")


def says_why(visitor: Visitor) -> None:
    """The missed check guards a critical limit: its deviation is there before anybody looked."""
    visitor.part(MISSED).get_by_role("link").click()
    visitor.at("Missed: Room 2 temperature")
    visitor.sees("CCP 3 Ripening room", "It guards a critical limit, so it opened")
    visitor.press("Record the reason")
    visitor.sees("Say in a few words why it was not done.")
    visitor.fill("Why was it not done?", "The key to room 2 was at the other farm.")
    visitor.press("Record the reason")
    visitor.sees("The reason is recorded.", "The key to room 2 was at the other farm.")
    visitor.follow("deviation ")
    visitor.sees(
        "was not done.",
        "opened by the schedule",
        "Reason given: The key to room 2 was at the other farm.",
        "Move the cheeses to the other room; find out since when.",
    )
    visitor.to_room("Today")
    visitor.sees_not(MISSED)


def cleans_the_vat(visitor: Visitor) -> None:
    visitor.to_room("Today")
    visitor.does_now("Vat 1 cleaned")
    visitor.fill("Chlorine", "120")
    visitor.answer("yes")
    visitor.press("Save")
    visitor.sees("Saved.", "met")
