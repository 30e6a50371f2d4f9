"""A person at a browser: does what people do, and notes everything that should not happen meanwhile."""

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from playwright.sync_api import Browser, ConsoleMessage, Locator, Page, Request, Response, expect
from playwright.sync_api import Error as PlaywrightError

from tests.browser.site import Scene

PATIENCE_MS = 60_000
POLL_MS = 300
# The browser's own console line for a form that came back with errors, which is what 422 means here.
REFUSED_FORM = re.compile(r"status of 422 ")
expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Visitor:
    """page: of a context of its own. faults: console errors, requests to elsewhere, answers without the policy."""

    page: Page
    url: str
    scene: Scene
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.faults.append(f"{self.page.url}: {error}"))
        self.page.on("request", self._request)
        self.page.on("response", self._response)

    @property
    def main(self) -> Locator:
        return self.page.locator("div.page")

    def sign_in(self, email: str) -> None:
        self.page.goto(self.url)
        expect(self.page.get_by_role("heading", level=1, name="Sign in")).to_be_visible()
        self.page.get_by_label("E-mail").fill(email)
        self.page.get_by_label("Password").fill(self.scene.password)
        self.press("Sign in", exact=True)
        self.at("Today")

    def sign_out(self) -> None:
        self._open_more()
        self._shown(self.page.get_by_role("button", name="Sign out")).click()
        self.at("Sign in")

    def to_room(self, name: str) -> None:
        """By the navigation that this width shows: at the side, or in the bar with the rest behind "More"."""
        link = self._shown(self.page.get_by_role("navigation").get_by_role("link", name=re.compile(rf"^{name}\b")))
        if not link.is_visible():
            self._open_more()
        link.click()
        self.at(name)

    def at(self, heading: str) -> None:
        """Waits for the page with this heading."""
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)

    def sees(self, *texts: str) -> None:
        for text in texts:
            expect(self.main).to_contain_text(text)

    def sees_not(self, *texts: str) -> None:
        for text in texts:
            expect(self.main).not_to_contain_text(text)

    def reloads_until(self, text: str) -> None:
        """Looks at the page again and again, as somebody does who waits for the schedule."""
        deadline = time.monotonic() + PATIENCE_MS / 1000
        while text not in self.main.inner_text():
            assert time.monotonic() < deadline, f"“{text}” never came"
            self.page.wait_for_timeout(POLL_MS)
            self.page.reload()

    def fill(self, label: str, text: str) -> None:
        self.main.get_by_label(label, exact=True).fill(text)

    def choose(self, label: str, option: str) -> None:
        self.main.get_by_label(label, exact=True).select_option(label=option)

    def answer(self, option: str) -> None:
        self.main.get_by_role("radio", name=option, exact=True).check()

    def press(self, button: str, *, exact: bool = False) -> None:
        self.main.get_by_role("button", name=button, exact=exact).click()

    def follow(self, link: str) -> None:
        self.main.get_by_role("link", name=link).first.click()

    def does_now(self, check: str) -> None:
        self.main.get_by_role("link", name=re.compile(f"Do it now.*{re.escape(check)}")).first.click()
        self.at(check)

    def part(self, heading: str) -> Locator:
        """The section of the page under this heading."""
        return self.main.locator("section").filter(
            has=self.page.get_by_role("heading", name=heading, level=2, exact=True)
        )

    def _open_more(self) -> None:
        more = self.page.get_by_text("More", exact=True)
        if more.is_visible():
            more.click()

    def _shown(self, found: Locator) -> Locator:
        return found.locator("visible=true").or_(found.last).first

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error" and not REFUSED_FORM.search(message.text):
            self.faults.append(f"{self.page.url}: {message.text}")

    def _request(self, request: Request) -> None:
        asked = urlsplit(request.url)
        if asked.scheme in ("http", "https", "ws", "wss") and f"{asked.scheme}://{asked.netloc}" != self.url:
            self.faults.append(f"{self.page.url} asked {request.url}")

    def _response(self, response: Response) -> None:
        if "default-src 'self'" not in response.headers.get("content-security-policy", ""):
            self.faults.append(f"{response.url} has no Content-Security-Policy")


@contextmanager
def visit(
    browser: Browser, url: str, scene: Scene, size: tuple[int, int], *, bypass_csp: bool = False
) -> Iterator[Visitor]:
    """A visitor with a browser window of this size; at the end nothing must have gone wrong in it.

    bypass_csp: for what is injected into the page to look at it, which the policy would refuse.
    """
    is_phone = size[0] < 600
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, is_mobile=is_phone, has_touch=is_phone, bypass_csp=bypass_csp
    )
    context.set_default_timeout(PATIENCE_MS)
    visitor = Visitor(context.new_page(), url, scene)
    try:
        yield visitor
    except (AssertionError, PlaywrightError) as error:
        seen = visitor.page.locator("body").inner_text()
        raise AssertionError(f"{error}\n\nThe page {visitor.page.url} showed:\n{seen[:6000]}") from error
    finally:
        context.close()
    assert visitor.faults == []
