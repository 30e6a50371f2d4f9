"""The contents, each line leading to its page."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import HEADINGS
from haccp.reports.draw.marks import ContentsLine, words
from haccp.reports.languages import own


@dataclass(frozen=True, slots=True)
class Entry:
    title: str
    key: str
    level: int = 0


def contents_page(entries: Sequence[Entry]) -> Iterator[Flowable]:
    yield words(own("Contents"), HEADINGS[0])
    for entry in entries:
        yield ContentsLine(entry.title, entry.key, entry.level)
