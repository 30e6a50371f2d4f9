"""The same working day on PostgreSQL and Redis, with worker and beat as processes of their own."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.browser import recordings
from tests.browser.site import open_scene
from tests.browser.steps.rounds import MISSED
from tests.browser.visitor import visit
from tests.browser.walk import working_day
from tests.processes.stack import separate_processes

pytestmark = [
    pytest.mark.browser,
    pytest.mark.postgres,
    pytest.mark.redis,
    pytest.mark.xdist_group("browser separate processes"),
]
DESK = (1280, 800)
COUNT_MISSED = "from haccp.checks.models import MissedCheck; print('missed', MissedCheck.objects.count())"
STOPPED = "The schedule has not run since"


def test_a_working_day(tmp_path: Path, browser: Browser) -> None:
    with separate_processes(tmp_path) as stack:
        stack.healthcheck("web")
        scene = open_scene(stack.run, name="Apart Farm")
        with visit(browser, stack.url, scene, DESK) as visitor:
            visitor.sign_in(scene.maker)
            expect(visitor.main.get_by_role("alert")).to_contain_text(STOPPED)
            visitor.sees_not(MISSED)
            stack.start("worker")
            stack.start("beat")
            visitor.reloads_until(MISSED)
            visitor.sees_not(STOPPED)
            stack.healthcheck("worker")
            stack.healthcheck("beat")
            stack.start("beat")
            working_day(visitor, recordings.plain)
        # No second beat and no second sweep makes a second flag: one row per due check, held by the database.
        sweep_again = f"from haccp.checks.actions import sweep; {COUNT_MISSED}; sweep(); {COUNT_MISSED}"
        before, after = stack.run("manage.py", "shell", "-c", sweep_again).strip().splitlines()[-2:]
        assert before == after
        assert before != "missed 0"
        stack.run("manage.py", "verify_ledger")
        for service in ("web", "worker", "beat"):
            assert "Traceback" not in stack.log(service), stack.log(service)[-4000:]
