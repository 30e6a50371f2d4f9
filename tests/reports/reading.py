"""Packs read back with libraries that had no part in making them."""

import io
import re
from collections import Counter

from pypdf import PdfReader

from haccp.reports.models import VisitPack


def reader(pack: VisitPack) -> PdfReader:
    with pack.file.open("rb") as content:
        return PdfReader(io.BytesIO(content.read()))


def pages(pack: VisitPack) -> list[str]:
    return [page.extract_text() for page in reader(pack).pages]


def text(pack: VisitPack) -> str:
    return "\n".join(pages(pack))


def squeezed(pack: VisitPack) -> str:
    """All text without any white space, however it was broken into lines."""
    return re.sub(r"\s+", "", text(pack))


def rows(pack: VisitPack) -> Counter[int]:
    """Number in the ledger -> how many rows of tables begin with it. Only rows write such a number with a #."""
    return Counter(int(number) for number in re.findall(r"#(\d+)\b", text(pack)))
