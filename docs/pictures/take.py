"""Takes the README's pictures anew: `uv run python docs/pictures/take.py`.

Starts the demo in a folder of its own, goes through it in Chromium, and writes the PNGs beside this script. Needs
Chromium (CHROMIUM names one) and pdftoppm.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, expect, sync_playwright
from pypdf import PdfReader

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
PHONE, DESK = (390, 844), (1280, 800)
MOST_BYTES = 200_000
COLOURS = 128
PATIENCE_MS = 120_000
MAKER, OWNER = "tomas@", "nuala@"
# A page of the pack that shows what a visitor asks for first.
WANTED_IN_PACK = "Heat treatment"
CHARTS_IN_PACK = "lowest"


@dataclass(frozen=True, slots=True)
class Demo:
    """Where it answers, and its logins: e-mail -> password, as it prints them."""

    url: str
    logins: dict[str, str]


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, running_demo(Path(folder)) as demo, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        on_a_phone(browser, demo)
        on_a_desk(browser, demo, Path(folder))
        browser.close()
    for picture in sorted(HERE.glob("*.png")):
        sys.stdout.write(f"{picture.name} {picture.stat().st_size / 1000:.0f} kB\n")


@contextmanager
def running_demo(folder: Path) -> Iterator[Demo]:
    process = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", "0"],
        cwd=ROOT,
        env={key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "CELERY_BROKER_URL")}
        | {"DATA_DIR": str(folder / "data")},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield invited(process)
    finally:
        process.terminate()
        process.wait(30)


def invited(process: "subprocess.Popen[str]") -> Demo:
    """Waits for the last line of what the demo prints when the site answers."""
    assert process.stdout is not None
    said = []
    for line in process.stdout:
        said.append(line)
        if line.startswith("Stop with"):
            text = "".join(said)
            address = re.search(r"^Open (\S+?)/?$", text, re.MULTILINE)
            assert address is not None
            return Demo(address[1], dict(re.findall(r"^  (\S+@\S+) +(.+)$", text, re.MULTILINE)))
    raise SystemExit("The demo ended before it answered.")


def chromium() -> str:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        raise SystemExit("Chromium is not installed; install it or set CHROMIUM.")
    return found


def signed_in(browser: Browser, demo: Demo, who: str, size: tuple[int, int]) -> Page:
    page = browser.new_page(
        viewport={"width": size[0], "height": size[1]}, device_scale_factor=2, locale="en-GB", reduced_motion="reduce"
    )
    page.set_default_timeout(PATIENCE_MS)
    email, password = next(login for login in demo.logins.items() if login[0].startswith(who))
    page.goto(demo.url)
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(password)
    page.get_by_role("main").get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Today")
    return page


def on_a_phone(browser: Browser, demo: Demo) -> None:
    page = signed_in(browser, demo, MAKER, PHONE)
    keep(page.screenshot(), "today-phone")
    page.goto(f"{demo.url}/makes/")
    # The recorder's plug came loose while the milk of this one was heated.
    held = page.get_by_role("row").filter(has_text="on hold").filter(has_text="Alder Square")
    held.first.get_by_role("link").first.click()
    keep(page.screenshot(), "batch-phone")
    page.get_by_role("heading", name="Heat treatment", level=2).evaluate(
        "one => one.scrollIntoView({ behavior: 'instant' })"
    )
    keep(page.screenshot(), "heat-phone")


def on_a_desk(browser: Browser, demo: Demo, folder: Path) -> None:
    page = signed_in(browser, demo, OWNER, DESK)
    page.goto(f"{demo.url}/deviations/")
    page.locator("tbody .row-link").first.click()
    keep(page.screenshot(), "deviation-desk")
    page.goto(f"{demo.url}/packs/")
    page.get_by_role("button", name="Make the pack").click()
    expect(page.get_by_role("main")).to_contain_text("Finished", timeout=PATIENCE_MS)
    with page.expect_download() as download:
        page.get_by_role("link", name="Save it").click()
    keep(pack_page(download.value.path(), folder), "pack-page")


def pack_page(pdf: Path, folder: Path) -> bytes:
    """The first page of the pack on which a heat treatment is drawn."""
    texts = [page.extract_text() for page in PdfReader(pdf).pages]
    number = next(
        number for number, text in enumerate(texts, start=1) if WANTED_IN_PACK in text and CHARTS_IN_PACK in text
    )
    target = folder / "page"
    subprocess.run(
        ["pdftoppm", "-r", "110", "-png", "-singlefile", "-f", str(number), "-l", str(number), str(pdf), str(target)],
        check=True,
    )
    return target.with_suffix(".png").read_bytes()


def keep(png: bytes, name: str) -> None:
    """Few colours: these are pages of text, and a README is read on slow lines too."""
    picture = Image.open(BytesIO(png)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    path = HERE / f"{name}.png"
    picture.save(path, optimize=True)
    if path.stat().st_size > MOST_BYTES:
        raise SystemExit(f"{path.name} has {path.stat().st_size:,} bytes, more than {MOST_BYTES:,}.")


if __name__ == "__main__":
    main()
