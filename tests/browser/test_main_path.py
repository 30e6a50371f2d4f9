"""A working day from signing in to the visit pack, on the site as a small dairy runs it."""

import pytest
from playwright.sync_api import Browser

from tests.browser import recordings
from tests.browser.site import open_scene
from tests.browser.visitor import visit
from tests.browser.walk import working_day
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser main path")]
PHONE, DESK = (390, 844), (1280, 800)


@pytest.mark.parametrize(
    ("dairy", "size", "recording"),
    [
        pytest.param("Phone Farm", PHONE, recordings.plain, id="phone"),
        pytest.param("Desk Farm", DESK, recordings.decimal_comma, id="desk"),
    ],
)
def test_a_working_day(
    site: Stack, browser: Browser, dairy: str, size: tuple[int, int], recording: recordings.Writer
) -> None:
    scene = open_scene(site.run, name=dairy)
    with visit(browser, site.url, scene, size) as visitor:
        visitor.sign_in(scene.maker)
        working_day(visitor, recording)
    site.run("manage.py", "verify_ledger")
