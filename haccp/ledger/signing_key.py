"""The key that signs heads: from the environment, or made on first use beside the database, never inside it.

Whoever could rewrite the database must not be able to sign what they wrote: keep the key where the database's owner
does not read it (LEDGER_KEY in the environment of the service), and keep a copy, or heads signed later look foreign.
"""

import base64
import binascii
import os
import secrets
from functools import lru_cache
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

SEED_BYTES = 32
FILE = "ledger_key"


def sign(message: bytes) -> bytes:
    """Ed25519 (RFC 8032 s.5.1.6), 64 bytes. Errors: ImproperlyConfigured for a key that cannot be read."""
    return _private().sign(message)


def public_hex() -> str:
    """The public key, 64 hexadecimal digits."""
    return _private().public_key().public_bytes_raw().hex()


def fits(*, public_key: str, message: bytes, signature: str) -> bool:
    """Whether the signature over the message was made with this key; both in hexadecimal."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key)).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _private() -> Ed25519PrivateKey:
    return _load(settings.LEDGER_KEY, str(settings.DATA_DIR))


@lru_cache(maxsize=8)
def _load(given: str, data_dir: str) -> Ed25519PrivateKey:
    text = given or _kept(Path(data_dir) / FILE)
    try:
        seed = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        seed = b""
    if len(seed) != SEED_BYTES:
        where = "LEDGER_KEY" if given else f"{Path(data_dir) / FILE}"
        raise ImproperlyConfigured(f"{where} is not 32 bytes in base64: make one with “openssl rand -base64 32”.")
    return Ed25519PrivateKey.from_private_bytes(seed)


def _kept(path: Path) -> str:
    """Read, or made once: a hard link fails when another process was first, so that all read the same key."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(f".{os.getpid()}")
        fresh.touch(mode=0o600)
        fresh.write_text(base64.b64encode(secrets.token_bytes(SEED_BYTES)).decode("ascii"), encoding="ascii")
        try:
            os.link(fresh, path)
        except FileExistsError:
            pass
        finally:
            fresh.unlink()
    return path.read_text(encoding="ascii").strip()
