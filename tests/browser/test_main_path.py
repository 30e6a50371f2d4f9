"""A working day from signing in to the visit pack, on the site as a small dairy runs it."""

import pytest
from playwright.sync_api import Browser

from tests.browser import recordings
from tests.browser.site import open_scene
from tests.browser.visitor import visit
from tests.browser.walk import working_day
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser main path")]
PHONE = (390, 844)


def test_a_working_day(site: Stack, browser: Browser) -> None:
    """On a phone, with a recorder that writes decimal commas; the walk on separate processes is the one on a desk."""
    scene = open_scene(site.run, name="Phone Farm")
    with visit(browser, site.url, scene, PHONE) as visitor:
        visitor.sign_in(scene.maker)
        working_day(visitor, recordings.decimal_comma)
    site.run("manage.py", "verify_ledger")
