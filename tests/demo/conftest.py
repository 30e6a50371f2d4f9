"""The demo dairy loaded at several moments, each load shared by a module's tests and rolled back after them."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from haccp.config.demo.dairy import Dairy
from haccp.config.demo.history import load


@dataclass(frozen=True)
class Loaded:
    dairy: Dairy
    now: datetime


def local(text: str) -> datetime:
    """A moment by the clock on the dairy's wall."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo("Europe/Dublin"))


@contextmanager
def loaded_at(now: datetime, days: int, blocker: Any) -> Iterator[Loaded]:
    with blocker.unblock(), transaction.atomic():
        yield Loaded(load(now=now, days=days), now)
        transaction.set_rollback(True)
