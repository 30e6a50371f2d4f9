"""A working day from signing in to the visit pack, on the site as a small dairy runs it; then its pages, against WCAG.

The main pages of a dairy at work are held against WCAG 2.2 AA by axe-core, on a phone and on a desk;
tests/web/test_in_a_browser.py does the same for signing in, the checks and the day book.
"""

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.browser import recordings
from tests.browser.site import Scene, open_scene
from tests.browser.visitor import Visitor, visit
from tests.browser.walk import working_day
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser main path")]
PHONE, DESK = (390, 844), (1280, 800)
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
ROOMS = ("/today/", "/milk/", "/milk/new/", "/makes/", "/makes/new/", "/rooms/", "/deviations/", "/plan/", "/packs/")
# Of each list, the first that it leads to.
LISTS = ("/milk/", "/makes/", "/rooms/", "/deviations/", "/packs/")


@pytest.fixture(scope="module")
def worked(site: Stack, browser: Browser) -> Scene:
    """After a working day on a phone, with a recorder that writes decimal commas; the walk on separate processes is
    the one on a desk."""
    scene = open_scene(site.run, name="Phone Farm")
    with visit(browser, site.url, scene, PHONE) as visitor:
        visitor.sign_in(scene.maker)
        working_day(visitor, recordings.decimal_comma)
    return scene


def test_a_working_day(site: Stack, worked: Scene) -> None:
    assert "rows hold." in site.run("manage.py", "verify_ledger")


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def visitor(site: Stack, browser: Browser, worked: Scene, request: pytest.FixtureRequest) -> Iterator[Visitor]:
    with visit(browser, site.url, worked, request.param, bypass_csp=True) as started:
        started.sign_in(worked.owner)
        yield started


def addresses(visitor: Visitor, url: str) -> list[str]:
    """Of the main pages, and of a milk, a batch with its forms, a room, a deviation and a pack."""
    found = [url + path for path in (*ROOMS, "/deviations/report/", "/choose/")]
    for path in LISTS:
        visitor.page.goto(url + path)
        links = visitor.main.locator("a").evaluate_all("links => links.map(link => link.href)")
        first = next(link for link in links if re.fullmatch(rf"{re.escape(url)}/[a-z]+/[0-9a-f-]{{36}}/", link))
        found.append(first)
        if "/batches/" in first:
            found += [f"{first}event/", f"{first}room/"]
    assert len(found) == len(ROOMS) + 2 + len(LISTS) + 2
    return found


def test_no_page_shuts_anybody_out(visitor: Visitor, site: Stack) -> None:
    found = []
    for address in addresses(visitor, site.url):
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
