"""One running site for all, one Chromium for each module."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.browser.site import embedded_site
from tests.processes.stack import Stack
from tests.services import need_chromium


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """SQLite, gunicorn and the schedule in one process."""
    need_chromium()
    with embedded_site(tmp_path_factory.mktemp("site")) as started:
        yield started
        log = started.log("web")
    assert "Traceback" not in log, log[-4000:]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = need_chromium()
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()
