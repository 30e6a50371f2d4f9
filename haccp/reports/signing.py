"""The signature of a finished paper (PAdES), by a key of the service: a certificate of one's own, or one made here.

PAPER_KEYSTORE names a PKCS#12 file (password in PAPER_KEYSTORE_PASSWORD) with the certificate that a trust service or
the producer's own authority has given out. Without it a key and a certificate that vouches for itself are made on
first use in DATA_DIR: a reader then sees that nothing was changed since, and asks whether to trust the issuer.
"""

import datetime as dt
import os
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, NoEncryption, pkcs12
from cryptography.x509.oid import NameOID
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.content import RawContent
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import BoxConstraints
from pyhanko.sign import signers
from pyhanko.sign.fields import SigFieldSpec, SigSeedSubFilter, append_signature_field

FILE = "paper_keystore.p12"
FIELD = "Service"
VALID_DAYS = 3650
REASON = "Printed from the records of the dairy; any later change of this file shows"


def sign_paper(path: Path, *, premises: str) -> None:
    """Appends the signature to the PDF at path; the bytes before it stay as they are.

    Errors: ImproperlyConfigured for a keystore that cannot be read.
    """
    about = signers.PdfSignatureMetadata(
        field_name=FIELD,
        subfilter=SigSeedSubFilter.PADES,
        md_algorithm="sha256",
        reason=REASON,
        location=premises,
    )
    with path.open("rb+") as file:
        writer = _MetadataKept(file)
        _add_field(writer)
        signers.sign_pdf(writer, about, signer=_signer(), in_place=True)


def signed(content: bytes, *, premises: str) -> bytes:
    """The same for a paper that is in memory."""
    with tempfile.TemporaryDirectory(prefix="paper-") as folder:
        path = Path(folder) / "paper.pdf"
        path.write_bytes(content)
        sign_paper(path, premises=premises)
        return path.read_bytes()


def _add_field(writer: IncrementalPdfFileWriter) -> None:
    """An unseen field with an empty appearance, which PDF/A asks of every annotation."""
    append_signature_field(writer, SigFieldSpec(sig_field_name=FIELD))
    field: Any = writer.root["/AcroForm"]["/Fields"][-1].get_object()
    empty = RawContent(b"", box=BoxConstraints(width=1, height=1)).as_form_xobject()
    made: Any = generic
    field[generic.pdf_name("/AP")] = made.DictionaryObject({generic.pdf_name("/N"): writer.add_object(empty)})
    writer.mark_update(writer.root["/AcroForm"]["/Fields"].raw_get(-1))


class _MetadataKept(IncrementalPdfFileWriter):
    """Adds the signature and nothing else: the XMP of a paper says what it said before."""

    def _update_meta(self) -> None:
        pass


def _signer() -> Any:
    given = settings.PAPER_KEYSTORE
    return _load(given or str(_kept(Path(settings.DATA_DIR) / FILE)), settings.PAPER_KEYSTORE_PASSWORD if given else "")


@lru_cache(maxsize=4)
def _load(path: str, password: str) -> Any:
    kinds: Any = signers
    signer = kinds.SimpleSigner.load_pkcs12(path, passphrase=password.encode() or None)
    if signer is None:
        raise ImproperlyConfigured(
            f"The keystore {path} cannot be read: PAPER_KEYSTORE must name a PKCS#12 file with a key and its "
            "certificate, and PAPER_KEYSTORE_PASSWORD its password."
        )
    return signer


def _kept(path: Path) -> Path:
    """Made once: a hard link fails when another process was first, so that all sign with the same key."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(f".{os.getpid()}")
        fresh.touch(mode=0o600)
        fresh.write_bytes(made_keystore("Curdward, records of the dairy", dt.datetime.now(dt.UTC)))
        try:
            os.link(fresh, path)
        except FileExistsError:
            pass
        finally:
            fresh.unlink()
    return path


def made_keystore(name: str, at: dt.datetime, password: bytes = b"") -> bytes:
    """A PKCS#12 file with a fresh EC P-256 key and a certificate that it has signed itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - dt.timedelta(days=1))
        .not_valid_after(at + dt.timedelta(days=VALID_DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(
            x509.KeyUsage(
                digital_signature=True,
                content_commitment=True,
                key_encipherment=False,
                data_encipherment=False,
                key_agreement=False,
                key_cert_sign=False,
                crl_sign=False,
                encipher_only=False,
                decipher_only=False,
            ),
            critical=True,
        )
        .sign(key, hashes.SHA256())
    )
    how = BestAvailableEncryption(password) if password else NoEncryption()
    return pkcs12.serialize_key_and_certificates(b"papers", key, certificate, None, how)
