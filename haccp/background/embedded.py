"""The schedule and the jobs inside the web process, for a dairy with one machine and no broker.

Celery's own beat runs in a daemon thread and runs its tasks there. A lock file lets exactly one of several processes
do so. Jobs that a request hands over run in a second thread (hand_over.py), so that neither the request nor the
schedule waits.
Nothing is lost with the process: all due work is derived from the database (a sweep catches up, an unfinished pack
is taken up again).
"""

import atexit
import fcntl
import logging
import threading
from typing import IO, Any

from celery import current_app, signals
from celery.beat import Scheduler, Service
from django.conf import settings
from django.db import close_old_connections

log = logging.getLogger(__name__)

_started: dict[str, Any] = {}


def start_if_embedded() -> bool:
    """Starts beat in this process unless a broker is configured or another process already runs it.

    Returns whether this process runs the schedule.
    """
    if not settings.EMBEDDED or "thread" in _started:
        return "thread" in _started
    lock = _lock()
    if lock is None:
        return False
    # Eager beat ignores tasks that are not registered, without a word.
    current_app.loader.import_default_modules()
    service = Service(current_app, scheduler_cls=Scheduler)
    thread = threading.Thread(target=_run, args=(service,), name="schedule", daemon=True)
    _started.update(lock=lock, service=service, thread=thread)
    signals.task_postrun.connect(_close_connections, weak=False)
    atexit.register(stop)
    thread.start()
    return True


def stop() -> None:
    """Ends the schedule of this process and lets another take over."""
    service = _started.pop("service", None)
    if service is not None:
        service.stop()
    thread = _started.pop("thread", None)
    if thread is not None:
        thread.join(timeout=5)
    lock = _started.pop("lock", None)
    if lock is not None:
        lock.close()


def _run(service: Service) -> None:
    try:
        service.start(embedded_process=False)
    except Exception:
        # The page that every person sees says that the schedule has stopped; this says why.
        log.exception("The schedule inside this process has stopped.")


def _close_connections(**_: Any) -> None:
    close_old_connections()


def _lock() -> IO[str] | None:
    settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
    handle = (settings.DATA_DIR / "schedule.lock").open("w")
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        handle.close()
        return None
    return handle
