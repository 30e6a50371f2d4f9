"""Takes the README's pictures of the real screens: `uv run python docs/pictures/take.py`.

Starts the demo on a fresh folder, drives Chromium through it, and draws a page of a visit pack with pdftoppm.
CHROMIUM names another browser than the one on the path.
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
OWNER = ("nuala@threealders.example", "alder catkins in march")
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}
FIRST_CHART_PAGE = "Hold"


@contextmanager
def demo() -> Iterator[str]:
    """The demo on a free port and a folder of its own; yields its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"DATA_DIR": folder}
        process = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(port)], cwd=ROOT, env=environment
        )
        url = f"http://127.0.0.1:{port}"
        try:
            _wait_for(f"{url}/health/")
            yield url
        finally:
            process.terminate()
            process.wait(30)


def _wait_for(url: str, patience_s: float = 300.0) -> None:
    deadline = time.monotonic() + patience_s
    while time.monotonic() < deadline:
        try:
            with urllib.request.urlopen(url, timeout=2):
                return
        except OSError:
            time.sleep(1)
    raise SystemExit(f"{url} did not answer within {patience_s:.0f} s.")


def sign_in(page: Page, url: str) -> None:
    page.goto(url)
    page.fill("input[type=email]", OWNER[0])
    page.fill("input[type=password]", OWNER[1])
    page.click("button[type=submit]")
    page.wait_for_url("**/today/")


def first_link(page: Page, listing: str, start: str) -> str:
    page.goto(listing)
    links = [link.get_attribute("href") or "" for link in page.locator(f'main a[href^="{start}"]').all()]
    return next(link for link in links if len(link) > len(start) + 30)


def take(url: str) -> None:
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        phone = browser.new_page(viewport=PHONE)
        sign_in(phone, url)
        phone.screenshot(path=HERE / "today-phone.png")
        deviation = first_link(phone, f"{url}/deviations/", "/deviations/")
        phone.goto(url + first_link(phone, f"{url}{deviation}", "/batches/"))
        phone.screenshot(path=HERE / "batch-phone.png")
        picture = phone.locator("svg[role=img]").filter(has_text="limit").filter(visible=True).first
        picture.scroll_into_view_if_needed()
        phone.screenshot(path=HERE / "heat-phone.png")
        desk = browser.new_page(viewport=DESK)
        sign_in(desk, url)
        desk.goto(url + deviation)
        desk.screenshot(path=HERE / "deviation-desk.png")
        pack_page(desk, url)
        browser.close()


def pack_page(page: Page, url: str) -> None:
    """The first page of heat treatments out of a pack of the last 30 days."""
    page.goto(f"{url}/packs/")
    page.click("main form button[type=submit]")
    link = page.locator('a[href$="/file/"]').first
    link.wait_for(timeout=120_000)
    answer = page.context.request.get(url + (link.get_attribute("href") or ""))
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "pack.pdf"
        pdf.write_bytes(answer.body())
        texts = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True, check=True).stdout.split("\f")
        number = next(n for n, text in enumerate(texts, 1) if FIRST_CHART_PAGE in text and "Air space" in text)
        subprocess.run(
            ["pdftoppm", "-r", "70", "-png", "-singlefile", "-f", str(number), pdf, HERE / "pack-page"], check=True
        )


if __name__ == "__main__":
    with demo() as address:
        take(address)
