"""A passkey in software: what a telephone does, for tests. W3C Web Authentication Level 3, section 6 and 7.

Answers as browsers send them, with an ES256 key and attestation "none".
"""

import hashlib
import json
import secrets
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from webauthn.helpers import bytes_to_base64url as text

USER_PRESENT, USER_VERIFIED, ATTESTED = 0x01, 0x04, 0x40


@dataclass
class Authenticator:
    """origin: of the site that it believes to talk to. verifies: whether it asks for the finger."""

    origin: str = "http://testserver"
    verifies: bool = True
    count: int = 0
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    credential_id: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    def make(self, options: dict[str, Any]) -> dict[str, Any]:
        numbers = self.key.public_key().public_numbers()
        cose = {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        attested = bytes(16) + len(self.credential_id).to_bytes(2, "big") + self.credential_id + cbor2.dumps(cose)
        data = self._data(options["rp"]["id"], ATTESTED) + attested
        return self._answer(
            clientDataJSON=text(self._client("webauthn.create", options["challenge"])),
            attestationObject=text(cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})),
        )

    def prove(self, options: dict[str, Any]) -> dict[str, Any]:
        self.count += 1
        client, data = self._client("webauthn.get", options["challenge"]), self._data(options["rpId"], 0)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        return self._answer(
            clientDataJSON=text(client), authenticatorData=text(data), signature=text(signature), userHandle=None
        )

    def _client(self, kind: str, challenge: str) -> bytes:
        return json.dumps({"type": kind, "challenge": challenge, "origin": self.origin}).encode()

    def _data(self, domain: str, flags: int) -> bytes:
        flags |= USER_PRESENT | (USER_VERIFIED if self.verifies else 0)
        return hashlib.sha256(domain.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big")

    def _answer(self, **response: str | None) -> dict[str, Any]:
        own = text(self.credential_id)
        return {"id": own, "rawId": own, "type": "public-key", "response": response}
