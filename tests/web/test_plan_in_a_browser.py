"""A new producer's way in a browser: from a few answers to a signed plan and the first check that it makes due."""

from collections.abc import Iterator

import pytest
import time_machine
from playwright.sync_api import Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck
from haccp.plan.models import FlowConfirmation, PlanRevision
from haccp.plan.rows import read_plan
from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD
from tests.services import need_chromium
from tests.web.conftest import NOW
from tests.web.test_in_a_browser import DESK, PHONE, faults, too_wide

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def newcomer(transactional_db: None) -> Iterator[Scope]:
    """A dairy with its places and nothing else."""
    with time_machine.travel(NOW, tick=False):
        scope = premises.premises_open(
            producer_name="Low Meadow", name="Low Meadow", time_zone="Europe/Dublin", jurisdiction="EU",
            owner_name="Nia Newcomer", owner_email="nia@meadow.example", owner_password=PASSWORD,
        )  # fmt: skip
        premises.place_add(scope=scope, name="Vat 1", kind="vat", walking_order=1)
        premises.place_add(scope=scope, name="Cold store", kind="cold_store", walking_order=2)
        yield scope


def sign_in(page: Page, address: str) -> None:
    page.goto(address)
    page.fill("[name=username]", "nia@meadow.example")
    page.fill("[name=password]", PASSWORD)
    page.click("main button")
    page.wait_for_load_state()


def answer_the_questions(page: Page, workspace: str) -> None:
    page.goto(f"{workspace}judgements/")
    for field in page.query_selector_all("textarea"):
        field.fill("Decided among ourselves and written down.")
    page.click("text=Save the answers")
    page.wait_for_load_state()


def add_the_limit_of_acidity(page: Page, workspace: str) -> None:
    """pH at most 5.2 within 6 h of the starter: common practice, no source."""
    page.goto(f"{workspace}ccps/")
    page.locator("article", has=page.locator("h3", has_text="Acidification")).get_by_text("Add a limit").click()
    page.fill("[name=statement]", "pH at most 5.20 within 6 h of the starter")
    for name, value in (
        ("quantity", "ph"), ("evaluator", "elapsed"), ("comparator", "at_most"), ("unit", "pH"),
        ("from_event", "starter_added"),
    ):  # fmt: skip
        page.select_option(f"[name={name}]", value)
    page.fill("[name=high]", "5,2")
    page.fill("[name=within_s]", "6 h")
    page.fill("[name=source_document]", "Our own records of 2025")
    page.locator("label", has_text="CCP 2 ·").first.check()
    page.click("main >> text=Save")
    page.wait_for_load_state()


def faults_at_both_sizes(page: Page) -> list[str]:
    """On the phone that is walked with, and the same page on a desk."""
    found = faults(page)
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
    found += too_wide(page)
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    return found


def test_from_answers_to_a_signed_plan_and_its_first_check(newcomer: Scope, live_server: LiveServer) -> None:
    found: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=need_chromium(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]}, bypass_csp=True)
        sign_in(page, live_server.url)
        assert "No plan is in force" in page.inner_text("main")
        page.click("text=Go to the plan")
        found += faults_at_both_sizes(page)
        page.click("text=Start from your answers")
        found += faults_at_both_sizes(page)
        page.fill("[name=product_name]", "Meadow Buffalo")
        page.fill("[name=product_code]", "MB")
        for name, value in (
            ("species", "buffalo"), ("treatment", "pasteurised"), ("family", "brined"), ("salting", "brine"),
        ):  # fmt: skip
            page.check(f"[name={name}][value={value}]")
        page.click("text=Make the draft")
        page.wait_for_load_state()
        workspace = page.url
        found += faults_at_both_sizes(page)
        answer_the_questions(page, workspace)
        add_the_limit_of_acidity(page, workspace)
        for section in (
            "scope", "team", "product", "use", "flow", "confirmation", "hazards", "ccps", "limits", "monitoring",
            "actions", "assurance", "documents", "programmes", "judgements", "findings", "differences", "approval",
        ):  # fmt: skip
            page.goto(f"{workspace}{section}/")
            found += faults_at_both_sizes(page)
        page.goto(f"{workspace}confirmation/")
        page.fill("[name=password]", PASSWORD)
        page.click("text=Sign the confirmation")
        page.wait_for_load_state()
        page.goto(f"{workspace}approval/")
        assert "Nothing blocks approval" in page.inner_text("main")
        page.fill("[name=password]", PASSWORD)
        page.click("text=Approve and sign")
        page.wait_for_load_state()
        assert "is approved and signed" in page.inner_text("main")
        found += faults_at_both_sizes(page)
        browser.close()
    assert found == []
    revision = PlanRevision.objects.get()
    assert revision.is_approved
    assert FlowConfirmation.objects.filter(revision=revision).exists()
    limit = next(one for one in read_plan(revision).limits if one.quantity == "ph")
    assert (limit.high, limit.parameters) == (5.2, {"within_s": 21600, "from_event": "starter_added"})
    checks.sweep(now=NOW)
    due = DueCheck.objects.for_premises(newcomer.premises).order_by("due_at").first()
    assert due is not None
    assert due.check_due.name in first_page(live_server)


def first_page(live_server: LiveServer) -> str:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=need_chromium(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": DESK[0], "height": DESK[1]})
        sign_in(page, live_server.url)
        shown = page.inner_text("main")
        browser.close()
    return shown
