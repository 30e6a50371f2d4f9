"""Papers that are to last: held to PDF/A-1b by PDFBox's preflight, which had no part in making them."""

import io
import os
import shutil
import subprocess
from pathlib import Path

import pikepdf
import pytest
from PIL import Image, ImageCms
from pytest_django import Settings

from haccp.reports.draw.lasting import archived
from haccp.reports.draw.srgb import linear, srgb_profile
from haccp.reports.gather.blank_forms import form_sheets
from haccp.reports.gather.gathered import gather
from haccp.reports.gather.period import period_for
from haccp.reports.layout import pack as layout
from haccp.reports.layout.blank_forms import blank_forms_pdf
from haccp.reports.layout.plan_alone import plan_pdf
from haccp.reports.signing import signed
from tests.dairy import Dairy
from tests.reports import history
from tests.reports.conftest import ASKED_AT, FROM, TO

JARS = ("preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "javax.activation", "jaxb-api")
FOLDER = Path(os.environ.get("JAVA_JARS", "/usr/share/java"))
needs_preflight = pytest.mark.skipif(
    shutil.which("java") is None or not all((FOLDER / f"{jar}.jar").exists() for jar in JARS),
    reason="needs Debian's libpdfbox2-java, libactivation-java and libjaxb-api-java",
)


def said_of(path: Path) -> str:
    jars = ":".join(str(FOLDER / f"{jar}.jar") for jar in JARS)
    command = ["java", "-Xshare:auto", "-cp", jars, "org.apache.pdfbox.preflight.Validator_A1b", path.name]
    done = subprocess.run(command, cwd=path.parent, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


@needs_preflight
def test_the_pages_of_a_pack_are_fit_for_the_archive_and_its_records_alone_keep_it_out(
    dairy: Dairy, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.eventful_week(dairy, days=3, closed=0)
    period = period_for(
        dairy.owner.premises, FROM, TO, asked_by=dairy.owner.user, asked_at=ASKED_AT, site="https://dairy.example"
    )
    gathered = gather(period, made_at=ASKED_AT)
    bare = tmp_path / "bare.pdf"
    # The same pages, claimed to be PDF/A in place of having the records attached.
    monkeypatch.setattr(
        layout, "attach_records", lambda path, records, facts: path.write_bytes(archived(path.read_bytes(), facts))
    )
    layout.draw(gathered, bare, made_at=ASKED_AT, report=lambda stage, done, total: None)
    assert "is a valid PDF/A-1b file" in said_of(bare)


@needs_preflight
def test_a_signed_paper_is_fit_for_the_archive_and_the_validator_can_say_no(
    dairy: Dairy, tmp_path: Path, settings: Settings
) -> None:
    settings.PAPER_KEYSTORE = settings.PAPER_KEYSTORE_PASSWORD = ""
    path = tmp_path / "forms.pdf"
    forms = form_sheets(dairy.revision, None)
    made = blank_forms_pdf(dairy.revision, forms, site="https://dairy.example", made_at=ASKED_AT)
    path.write_bytes(signed(made, premises="Weir Farm Dairy"))
    assert "is a valid PDF/A-1b file" in said_of(path)

    with pikepdf.open(io.BytesIO(made)) as pdf:
        del pdf.Root.OutputIntents
        pdf.save(path, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    assert "is not a valid PDF/A-1b file" in said_of(path)


def test_a_paper_says_what_it_is_and_gives_the_same_bytes_again(dairy: Dairy) -> None:
    first, second = (plan_pdf(dairy.revision, "limits", until=None, made_at=ASKED_AT) for _ in range(2))
    assert first == second
    with pikepdf.open(io.BytesIO(first)) as pdf, pdf.open_metadata() as metadata:
        assert metadata["pdfaid:part"] == "1"
        assert metadata["dc:title"] == str(pdf.docinfo["/Title"])
        assert str(pdf.Root.Lang) == "en-GB"


def test_the_colours_are_those_of_srgb() -> None:
    """Against Little CMS's own sRGB, through Pillow; and IEC 61966-2-1's curve at its known middle."""
    assert linear(1.0) == pytest.approx(1.0)
    assert linear(0.5) == pytest.approx(0.21404, abs=1e-5)
    colours = [(r, g, b) for r in (0, 15, 143, 255) for g in (0, 82, 200) for b in (7, 87, 255)]
    picture = Image.new("RGB", (len(colours), 1))
    picture.putdata(colours)
    ours = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    seen = ImageCms.profileToProfile(picture, ours, ImageCms.createProfile("sRGB"))
    assert seen is not None
    for place, wanted in enumerate(colours):
        found = seen.getpixel((place, 0))
        assert max(abs(a - b) for a, b in zip(wanted, found, strict=True)) <= 1  # type: ignore[arg-type]
