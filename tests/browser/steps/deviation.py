"""From the cause to the closing signature."""

from playwright.sync_api import Locator, expect

from tests.browser.visitor import Visitor

WORDS = {
    "cause": "The door was left ajar from six o'clock.",
    "correction": "Door shut, compressor run; 12.1 °C on two readings an hour apart.",
    "prevention": "A door closer is fitted and the evening round looks at it.",
    "reassessment": "The plan stands: the round and its limit found the warm room; only the closer was wanting.",
}


def walks_through(visitor: Visitor) -> None:
    visitor.sees("It can be signed when this is done:")
    for step in ("cause", "correction"):
        says(visitor, step)
    disposition = visitor.page.locator("#disposition")
    expect(disposition).to_contain_text("on hold")
    disposition.get_by_role("textbox").fill("Two hours at 16.8 °C; the paste stayed at 12.")
    disposition.get_by_role("button", name="Save").click()
    expect(disposition).to_contain_text("Choose what happens to the product.")
    expect(disposition.get_by_role("textbox")).to_have_value("Two hours at 16.8 °C; the paste stayed at 12.")
    disposition.get_by_role("radio", name="release, with justification").check()
    disposition.get_by_role("button", name="Save").click()
    is_saved(disposition, "Release, with justification")
    for step in ("prevention", "reassessment"):
        says(visitor, step)


def says(visitor: Visitor, step: str) -> None:
    part = visitor.page.locator(f"#{step}")
    part.get_by_role("textbox").fill(WORDS[step])
    part.get_by_role("button", name="Save").click()
    is_saved(part, WORDS[step])


def is_saved(part: Locator, text: str) -> None:
    expect(part.locator("blockquote")).to_contain_text(text)


def closes_it(visitor: Visitor) -> None:
    """A wrong password signs nothing."""
    sign = visitor.page.locator("#sign")
    sign.get_by_label("Your password, as your signature").fill("not this one")
    sign.get_by_role("button", name="Sign and close").click()
    expect(sign).to_contain_text("That is not your password; nothing was signed.")
    for words in WORDS.values():
        visitor.sees(words)
    sign = visitor.page.locator("#sign")
    sign.get_by_label("Your password, as your signature").fill(visitor.scene.password)
    sign.get_by_role("button", name="Sign and close").click()
    visitor.sees("is closed.", "Closed and signed", "hold lifted")


def finds_the_batch_free(visitor: Visitor, batch: str) -> None:
    visitor.page.goto(batch)
    visitor.sees("Holds that were lifted")
    visitor.sees_not("Not to be sold: on hold")
