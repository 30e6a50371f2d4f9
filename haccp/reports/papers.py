"""Single papers made at once: one batch's record, a deviation report, a day book, a cleaning log."""

import tempfile
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import IO
from uuid import UUID

from django.utils import translation

from haccp.premises.models import Premises
from haccp.premises.scope import Scope
from haccp.reports.choosing import own_days, words_of
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.gathered import gather
from haccp.reports.gather.period import period_for
from haccp.reports.gather.scope import CLEANING as CLEANING_PROGRAMME
from haccp.reports.languages import DEFAULT
from haccp.reports.layout import pack as layout
from haccp.reports.layout.addresses import Addresses
from haccp.reports.layout.kinds import BATCH, CLEANING, DAY, DEVIATION, Kind
from haccp.reports.signing import sign_paper


@dataclass(frozen=True, slots=True)
class Paper:
    """What is wanted. about: under its title; address: of its QR code."""

    kind: Kind
    choice: Choice
    first_day: date
    last_day: date
    about: str
    address: str = ""


def batch_paper(premises: Premises, lot_id: UUID, site: str, today: date) -> Paper:
    """Raises ActionError for a batch that is not of this dairy."""
    return _of(BATCH, premises, Choice(batches=(lot_id,)), Addresses(site).batch(lot_id), today)


def deviation_paper(premises: Premises, deviation_id: UUID, site: str, today: date) -> Paper:
    """Raises ActionError for a deviation that is not of this dairy."""
    return _of(DEVIATION, premises, Choice(deviation=deviation_id), Addresses(site).deviation(deviation_id), today)


def day_paper(day: date, site: str) -> Paper:
    return Paper(DAY, Choice(), day, day, "", Addresses(site).day(day))


def cleaning_paper(first_day: date, last_day: date) -> Paper:
    return Paper(CLEANING, Choice(programme=CLEANING_PROGRAMME), first_day, last_day, "")


def made(paper: Paper, *, scope: Scope, site: str, now: datetime, language: str = DEFAULT) -> IO[bytes]:
    """The finished PDF, open for reading; it is gone when it is closed. language: one of LANGUAGES."""
    with translation.override(language):
        return _made(paper, scope, site, now)


def _made(paper: Paper, scope: Scope, site: str, now: datetime) -> IO[bytes]:
    period = period_for(scope.premises, paper.first_day, paper.last_day, asked_by=scope.user, asked_at=now, site=site)
    gathered = gather(period, paper.choice, made_at=now)
    with tempfile.TemporaryDirectory(prefix="paper-") as folder:
        path = Path(folder) / "paper.pdf"
        layout.draw(
            gathered,
            path,
            made_at=now,
            report=lambda stage, done, total: None,
            kind=paper.kind,
            about=paper.about,
            address=paper.address,
        )
        sign_paper(path, premises=scope.premises.name)
        return path.open("rb")


def _of(kind: Kind, premises: Premises, choice: Choice, address: str, today: date) -> Paper:
    words = words_of(premises, choice)
    first, last = own_days(premises, choice, today)
    return Paper(kind, choice, first, last, words, address)
