"""The day is signed off by who worked it and reviewed by another person."""

from playwright.sync_api import expect

from tests.browser.visitor import Visitor


def signs_off(visitor: Visitor) -> None:
    opens_the_day(visitor)
    visitor.sees("Milk acceptance", "Heat treatment", "pH of the curd", "Room 1 temperature", "Vat 1 cleaned")
    visitor.sees_not("Before the day can be signed")
    visitor.fill("Your password", "not this one")
    visitor.press("Sign off as")
    visitor.sees("Not signed", "That is not your password; nothing was signed.")
    visitor.fill("Your password", visitor.scene.password)
    visitor.press("Sign off as")
    visitor.sees("Signed. The signature is in the ledger.")
    is_signed(visitor, "Milo of")


def may_not_review_it(visitor: Visitor) -> None:
    expect(visitor.page.get_by_role("complementary", name="Signatures")).to_contain_text("A second person reviews it.")
    expect(visitor.page.get_by_role("button", name="Sign the review as")).to_have_count(0)


def reviews(visitor: Visitor) -> None:
    opens_the_day(visitor)
    aside = visitor.page.get_by_role("complementary", name="Signatures")
    aside.get_by_label("Your password").fill(visitor.scene.password)
    aside.get_by_role("button", name="Sign the review as").click()
    visitor.sees("Signed. The signature is in the ledger.")
    is_signed(visitor, "Milo of", "Orla of")


def opens_the_day(visitor: Visitor) -> None:
    visitor.to_room("Day book")
    day = visitor.scene.day
    visitor.main.get_by_role("link", name=f"{day:%a} {day.day} {day:%b %Y}").click()
    visitor.at(f"{day.day} {day:%B %Y}")


def is_signed(visitor: Visitor, *names: str) -> None:
    for name in names:
        expect(visitor.page.get_by_role("complementary", name="Signatures")).to_contain_text(name)
