"""`manage.py make_push_keys`: a key pair for web push, as lines for the environment."""

import base64
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Makes the VAPID key pair of this site (RFC 8292). Browsers told by an earlier pair must be added anew."

    def handle(self, *args: Any, **options: Any) -> None:
        key = ec.generate_private_key(ec.SECP256R1())
        private = key.private_numbers().private_value.to_bytes(32, "big")
        public = key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
        self.stdout.write(f"VAPID_PRIVATE_KEY={_text(private)}")
        self.stdout.write(f"VAPID_PUBLIC_KEY={_text(public)}")
        self.stdout.write("VAPID_CONTACT=mailto:you@your-dairy.example  # where the push service may reach you")


def _text(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()
