"""Hands a task over after commit: to a worker, or to this process's job thread where no broker is configured."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

from celery import Task
from django.conf import settings
from django.db import close_old_connections, transaction

_jobs = ThreadPoolExecutor(max_workers=1, thread_name_prefix="job")


def hand_over(task: "Task[Any, Any]", *args: Any) -> None:
    """Runs task(*args) outside the request, once the current transaction has committed.

    A job lost with its process must be found again in the database by a scheduled task; this only starts it sooner.
    """
    transaction.on_commit(lambda: _send(task, args))


def _send(task: "Task[Any, Any]", args: tuple[Any, ...]) -> None:
    if settings.EMBEDDED:
        _jobs.submit(_run, task, args)
    else:
        task.delay(*args)


def _run(task: "Task[Any, Any]", args: tuple[Any, ...]) -> None:
    try:
        task.apply(args=args)
    finally:
        close_old_connections()
