"""Saving with wet hands and a poor signal: keyboard only, a double click, the back button, no connection."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.site import Scene, open_scene
from tests.browser.visitor import Visitor, visit
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser habits")]
PHONE = (390, 844)
NO_CONNECTION = "There is no connection, so nothing was sent."


@pytest.fixture(scope="module")
def scene(site: Stack) -> Scene:
    return open_scene(site.run, name="Habit Farm")


@pytest.fixture
def maker(site: Stack, browser: Browser, scene: Scene) -> Iterator[Visitor]:
    with visit(browser, site.url, scene, PHONE) as visitor:
        yield visitor


def test_the_keyboard_alone_signs_in_and_does_a_check(maker: Visitor) -> None:
    page = maker.page
    page.goto(maker.url)
    tab_to(page, "E-mail")
    page.keyboard.type(maker.scene.maker)
    tab_to(page, "Password")
    page.keyboard.type(maker.scene.password)
    page.keyboard.press("Enter")
    maker.at("Today")
    maker.reloads_until("Due now")
    tab_to(page, "Do it now: Vat 1 cleaned")
    page.keyboard.press("Enter")
    maker.at("Vat 1 cleaned")
    tab_to(page, "Chlorine")
    page.keyboard.type("115")
    tab_to(page, "yes")
    page.keyboard.press("Space")
    tab_to(page, "Save")
    page.keyboard.press("Enter")
    maker.sees("Saved.", "met")
    focused = page.locator(":focus")
    expect(focused).to_contain_text("Saved.")


def test_a_double_click_saves_one_record(maker: Visitor) -> None:
    maker.sign_in(maker.scene.maker)
    comes_in(maker, "Double Farm", "61")
    maker.main.get_by_role("button", name="Save the milk").dblclick()
    maker.sees("Acceptance checks")
    is_listed_once(maker, "Double Farm")

    maker.to_room("Today")
    maker.reloads_until("Room 1 temperature")
    maker.does_now("Room 1 temperature")
    maker.fill("Top shelf", "11,5")
    maker.choose("Instrument", "Thermometer")
    maker.main.get_by_role("button", name="Save").dblclick()
    maker.sees("Saved.")
    maker.to_room("Today")
    expect(maker.part("Done today").get_by_role("link", name="Room 1 temperature")).to_have_count(1)


def test_going_back_and_sending_again_is_one_record(maker: Visitor) -> None:
    maker.sign_in(maker.scene.maker)
    comes_in(maker, "Back Farm", "77,5")
    maker.press("Save the milk")
    maker.sees("Acceptance checks")
    maker.page.go_back()
    maker.at("Milk came in")
    holds(maker, "Whose milk", "Back Farm")
    holds(maker, "How much", "77,5")
    maker.press("Save the milk")
    maker.sees("Acceptance checks", "Back Farm")
    is_listed_once(maker, "Back Farm")


def test_without_a_connection_the_page_stays_and_says_so(maker: Visitor) -> None:
    maker.sign_in(maker.scene.maker)
    comes_in(maker, "Quiet Farm", "48")
    maker.page.context.set_offline(True)
    maker.press("Save the milk")
    maker.sees(NO_CONNECTION)
    holds(maker, "Whose milk", "Quiet Farm")
    maker.page.context.set_offline(False)
    maker.press("Save the milk")
    maker.sees("Acceptance checks", "Quiet Farm")
    is_listed_once(maker, "Quiet Farm")


@pytest.mark.parametrize("arrives", [False, True], ids=["nothing arrives", "only the answer is lost"])
def test_what_was_typed_outlives_the_browsers_own_page_of_a_lost_connection(maker: Visitor, arrives: bool) -> None:
    source = "Heard Farm" if arrives else "Lost Farm"
    maker.sign_in(maker.scene.maker)
    comes_in(maker, source, "52,5")
    with_lost_answer(maker, arrives=arrives)
    maker.main.get_by_role("button", name="Save the milk").click()
    expect(maker.main).to_have_count(0)
    maker.page.unroute_all()
    maker.faults.clear()  # the browser's own lines about the lost connection

    maker.page.goto(f"{maker.url}/milk/new/")
    maker.sees("This was typed before and could not be sent")
    holds(maker, "Whose milk", source)
    holds(maker, "How much", "52,5")
    maker.press("Save the milk")
    maker.sees("Acceptance checks", source)
    is_listed_once(maker, source)
    maker.page.goto(f"{maker.url}/milk/new/")
    holds(maker, "Whose milk", "")


def test_the_next_person_finds_nothing_of_what_the_last_one_typed(maker: Visitor) -> None:
    maker.sign_in(maker.scene.maker)
    comes_in(maker, "Somebody Else", "12")
    maker.to_room("Today")
    maker.sign_out()
    maker.sign_in(maker.scene.owner)
    assert maker.page.evaluate("Object.keys(sessionStorage).filter((key) => key.startsWith('typed'))") == []


def with_lost_answer(visitor: Visitor, *, arrives: bool) -> None:
    """The next form is sent into a connection that breaks: before it arrives, or before its answer does."""

    def lose(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        if arrives:
            route.fetch(max_redirects=0)
        route.abort("connectionreset")

    visitor.page.route("**/milk/new/", lose)


def comes_in(visitor: Visitor, source: str, litres: str) -> None:
    visitor.to_room("Milk")
    visitor.follow("Milk came in")
    visitor.choose("Milk of", "ewe")
    visitor.fill("Whose milk", source)
    visitor.fill("How much", litres)


def is_listed_once(visitor: Visitor, source: str) -> None:
    visitor.to_room("Milk")
    expect(visitor.main.get_by_text(source)).to_have_count(1)


def holds(visitor: Visitor, label: str, text: str) -> None:
    expect(visitor.main.get_by_label(label, exact=True)).to_have_value(text)


def tab_to(page: Page, name: str) -> None:
    """Presses Tab until what has the focus is called so."""
    for _ in range(60):
        called = page.evaluate(
            """() => {
              const one = document.activeElement;
              const label = one.labels && one.labels.length ? one.labels[0].textContent : one.textContent;
              return label.trim().replace(/\\s+/g, " ");
            }"""
        )
        if called == name:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never came to “{name}”")
