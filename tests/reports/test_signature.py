"""The signature of a paper, read by poppler's pdfsig, which had no part in making it."""

import datetime as dt
import shutil
import subprocess
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from pytest_django import Settings
from reportlab.pdfgen.canvas import Canvas

from haccp.reports.signing import made_keystore, sign_paper
from tests.dairy import Dairy
from tests.reports.conftest import MakePack

pytestmark = pytest.mark.skipif(shutil.which("pdfsig") is None, reason="needs poppler-utils")


@pytest.fixture(autouse=True)
def keys_of_the_test(settings: Settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path / "data"
    settings.PAPER_KEYSTORE = settings.PAPER_KEYSTORE_PASSWORD = ""


def pdfsig(path: Path) -> str:
    done = subprocess.run(["pdfsig", path.name], cwd=path.parent, capture_output=True, text=True, check=False)
    return done.stdout


def paper(path: Path) -> Path:
    canvas = Canvas(str(path), invariant=1)
    canvas.drawString(72, 700, "Room 1: 11.0")
    canvas.save()
    return path


def test_a_pack_is_signed_over_all_of_it(dairy: Dairy, make_pack: MakePack, tmp_path: Path) -> None:
    pack = make_pack(dairy.owner)
    copy = tmp_path / "pack.pdf"
    with pack.file.open("rb") as content:
        copy.write_bytes(content.read())
    said = pdfsig(copy)
    assert "Signature is Valid." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said


def test_a_change_after_the_signature_shows_and_what_was_there_stays(tmp_path: Path) -> None:
    path = paper(tmp_path / "paper.pdf")
    before = path.read_bytes()
    sign_paper(path, premises="Weir Farm Dairy")
    signed = path.read_bytes()
    assert signed.startswith(before)
    assert "Signature is Valid." in pdfsig(path)

    forged = tmp_path / "forged.pdf"
    place = len(before) // 3
    forged.write_bytes(signed[:place] + bytes([signed[place] ^ 1]) + signed[place + 1 :])
    assert "Signature is Valid." not in pdfsig(forged)


def test_a_keystore_of_ones_own_signs_and_one_that_cannot_be_read_says_so(settings: Settings, tmp_path: Path) -> None:
    store = tmp_path / "own.p12"
    store.write_bytes(made_keystore("Hillside Creamery", dt.datetime(2026, 1, 1, tzinfo=dt.UTC), b"tall reeds"))
    settings.PAPER_KEYSTORE, settings.PAPER_KEYSTORE_PASSWORD = str(store), "tall reeds"
    path = paper(tmp_path / "paper.pdf")
    sign_paper(path, premises="Hillside")
    assert "Hillside Creamery" in pdfsig(path)

    settings.PAPER_KEYSTORE_PASSWORD = "wrong"
    with pytest.raises(ImproperlyConfigured, match="PAPER_KEYSTORE_PASSWORD"):
        sign_paper(paper(tmp_path / "other.pdf"), premises="Hillside")
