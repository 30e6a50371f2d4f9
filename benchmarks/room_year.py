"""A year of minute readings from ten sensors of a room, drawn in a browser: how long, and whether a peak is lost.

    uv run python benchmarks/room_year.py

Needs Chromium (CHROMIUM=/path names another). A dairy of its own on a database in a temporary folder; the page is the
room's own, asked for as people ask for it. Printed: seconds from the request to the last line on the screen, and
where the one-minute peak stands in the drawing.
"""

import os
import sys
import tempfile
import threading
import time
from datetime import timedelta
from pathlib import Path
from wsgiref.simple_server import WSGIRequestHandler, make_server

SENSORS, MINUTES = 10, 366 * 24 * 60
PEAK_C = 31.7
MOST_S = 1.0


class _Quiet(WSGIRequestHandler):
    def log_message(self, *_args: object) -> None:
        pass


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "haccp.config.settings", "DEBUG": "1"}
        os.environ.pop("DATABASE_URL", None)
        sys.path.insert(0, str(Path(__file__).parents[1]))
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        room_id, session = _fill()
        return _measure(room_id, session)


def _fill() -> tuple[str, str]:
    """The room's id and the key of a session that is signed in."""
    import numpy as np
    from django.test import Client
    from django.utils import timezone

    from batches.ripening import actions
    from haccp.checks import trace_store
    from haccp.checks.models import TraceFile
    from haccp.science.trace import Trace
    from tests.dairy import open_dairy

    dairy, now = open_dairy(), timezone.now()
    t = np.arange(MINUTES, dtype=float) * 60
    rng = np.random.default_rng(7)
    channels = {
        f"Sensor {i + 1}": 11 + i / 5 + np.sin(t / 86_400 / 9 + i) + rng.normal(0, 0.2, t.size) for i in range(SENSORS)
    }
    channels["Sensor 4"][MINUTES // 3] = PEAK_C
    began = now - timedelta(minutes=MINUTES)
    stored = TraceFile.objects.create(
        premises=dairy.owner.premises, filename="year.csv", sha256="0" * 64, raw_deflated=b"",
        samples=trace_store.pack(Trace(began, t, channels)), started_at=began, duration_s=float(t[-1]),
        sample_count=t.size, roles={}, uploaded_by=dairy.owner.user,
    )  # fmt: skip
    said = [actions.ChannelSaid(name, "temperature", name) for name in channels]
    actions.logs_add(scope=dairy.maker, room_id=dairy.room.pk, trace_id=stored.pk, channels=said)
    client = Client()
    client.force_login(dairy.helper.user)
    return str(dairy.room.pk), client.cookies["sessionid"].value


def _measure(room_id: str, session: str) -> int:
    from django.contrib.staticfiles.handlers import StaticFilesHandler
    from django.core.wsgi import get_wsgi_application
    from playwright.sync_api import sync_playwright

    server = make_server("127.0.0.1", 0, StaticFilesHandler(get_wsgi_application()), handler_class=_Quiet)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    base = f"http://127.0.0.1:{server.server_port}"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=["--no-sandbox"]
        )
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        context.add_cookies([{"name": "sessionid", "value": session, "url": base}])
        page = context.new_page()
        page.goto(f"{base}/rooms/")  # style sheets and fonts are there, as they are for people
        took = []
        for _ in range(3):
            began = time.perf_counter()
            page.goto(f"{base}/rooms/{room_id}/climate/?days=366", wait_until="load")
            page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
            took.append(time.perf_counter() - began)
        words = page.locator("svg.pic-wide desc").first.text_content() or ""
        top = page.evaluate(
            "() => Math.min(...[...document.querySelectorAll('svg.pic-wide polyline')].flatMap(line =>"
            " line.getAttribute('points').split(' ').map(point => +point.split(',')[1])))"
        )
        size = len(page.content())
        browser.close()
    server.shutdown()
    best = min(took)
    is_kept = f"{PEAK_C:.1f}" in words
    seconds = ", ".join(f"{one:.2f} s" for one in took)
    told = "told" if is_kept else "LOST"
    sys.stdout.write(f"{SENSORS} sensors, {MINUTES} minutes each: {seconds}; page {size / 1e6:.1f} MB\n")
    sys.stdout.write(f"the one-minute peak of {PEAK_C} °C is {told}; the highest point is drawn at y = {top:.1f}\n")
    return 0 if best < MOST_S and is_kept else 1


if __name__ == "__main__":
    raise SystemExit(main())
