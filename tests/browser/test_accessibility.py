"""The main pages of a dairy at work, held against WCAG 2.2 AA by axe-core, on a phone and on a desk.

tests/web/test_in_a_browser.py does the same for signing in, the checks and the day book; these are the other rooms.
"""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.browser import recordings
from tests.browser.site import Scene, open_scene
from tests.browser.steps import acidity, deviation, heat, milk, pack, rooms, rounds
from tests.browser.visitor import Visitor, visit
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser habits")]
PHONE, DESK = (390, 844), (1280, 800)
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
ROOMS = ("/today/", "/milk/", "/milk/new/", "/makes/", "/makes/new/", "/rooms/", "/deviations/", "/plan/", "/packs/")


@pytest.fixture(scope="module")
def worked(site: Stack, browser: Browser) -> tuple[Scene, tuple[str, ...]]:
    """A dairy with a batch, a heat treatment, a curve, a deviation under way and a pack; addresses of its pages."""
    scene = open_scene(site.run, name="Open Farm")
    with visit(browser, site.url, scene, DESK) as visitor:
        visitor.sign_in(scene.maker)
        rounds.sees_what_the_schedule_flagged(visitor)
        milk.receives_milk(visitor)
        of_milk = visitor.page.url
        milk.accepts_it(visitor)
        milk.starts_a_make(visitor)
        batch = visitor.page.url
        heat.brings_in_the_recording(visitor, recordings.plain)
        acidity.adds_starter(visitor)
        acidity.follows_the_curve(visitor)
        rooms.places_the_batch(visitor)
        rooms.finds_it_too_warm(visitor)
        of_deviation = visitor.page.url
        deviation.says(visitor, "cause")
        visitor.to_room("Rooms")
        visitor.main.get_by_role("link", name="Room 1").first.click()
        visitor.at("Room 1")
        room = visitor.page.url
        pack.asks_for_a_pack(visitor)
        visitor.sees("Finished")
        of_pack = visitor.page.url
    more = (of_milk, batch, f"{batch}event/", f"{batch}room/", of_deviation, room, of_pack)
    return scene, (*(site.url + path for path in (*ROOMS, "/deviations/report/", "/choose/")), *more)


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def visitor(
    site: Stack, browser: Browser, worked: tuple[Scene, tuple[str, ...]], request: pytest.FixtureRequest
) -> Iterator[Visitor]:
    with visit(browser, site.url, worked[0], request.param, bypass_csp=True) as started:
        started.sign_in(worked[0].owner)
        yield started


def test_no_page_shuts_anybody_out(visitor: Visitor, worked: tuple[Scene, tuple[str, ...]]) -> None:
    found = []
    for address in worked[1]:
        answer = visitor.page.goto(address)
        assert answer is not None
        assert answer.status == 200, address
        found += [
            f"{address} {one['id']}: {one['nodes'][0]['target']}"
            for one in Axe().run(visitor.page, options=RULES).response["violations"]
        ]
        overflow = visitor.page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        if overflow > 0:
            found.append(f"{address} is {overflow} px too wide")
    assert found == []
