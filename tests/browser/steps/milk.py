"""Milk comes in, is accepted, and goes into the vat."""

from tests.browser.visitor import Visitor


def receives_milk(visitor: Visitor) -> None:
    visitor.to_room("Milk")
    visitor.follow("Milk came in")
    visitor.choose("Milk of", "ewe")
    visitor.fill("Whose milk", "Own flock")
    visitor.fill("How much", "a lot")
    visitor.fill("Received", visitor.scene.typed(6))
    visitor.press("Save the milk")
    visitor.sees("What you typed is still here.")
    assert visitor.main.get_by_label("How much", exact=True).input_value() == "a lot"
    visitor.fill("How much", "180,5")
    visitor.press("Save the milk")
    visitor.sees("Acceptance checks", "180.5 L", "typed: 180,5 L", "Own flock")


def accepts_it(visitor: Visitor) -> None:
    visitor.does_now("Milk acceptance")
    visitor.fill("Temperature", "5,4")
    visitor.answer("negative")
    visitor.choose("Instrument", "Thermometer")
    visitor.press("Save")
    visitor.sees("Saved.", "met", "Milk at most 10 °C on arrival", "Residue test negative")
    visitor.sees_not("deviation")
    visitor.to_room("Milk")
    visitor.main.locator(".row-link").first.click()
    visitor.sees("Not decided yet")
    visitor.press("Accept")
    visitor.sees("Accepted by")


def starts_a_make(visitor: Visitor) -> None:
    """Leads to the page of the new batch."""
    visitor.to_room("Makes")
    visitor.follow("Start a make")
    visitor.fill("Started", visitor.scene.typed(5))
    visitor.press("Start the make")
    visitor.sees("Say which milk goes into the vat, and how much of it.")
    visitor.main.locator(".milk-line input").fill("180,5")
    visitor.press("Start the make")
    visitor.at("Reed Tomme")
    visitor.sees("Not to be sold yet", "Heat treatment", "180.5 L")
