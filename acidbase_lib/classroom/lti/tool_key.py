"""The tool's own key: made here, never shown; its public half is what the platform is given."""
from __future__ import annotations

import base64
import hashlib
import json
import time
import uuid
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.private import owner_only, tighten

from .own_folder import give_to_owner
from .platform import Platform

SECRET, PUBLIC = "tool-key.pem", "tool-jwks.json"
BITS = 2048  # the least that RS256 may have (RFC 7518, section 3.3)
VALID = 300  # of an assertion; "typically five minutes" (Security Framework 1.1, 4.1) [s]


@dataclass(frozen=True, slots=True)
class ToolKey:
    """A key to sign with; printing it shows its public name alone."""

    name: str
    secret: bytes = field(repr=False)

    def assertion(self, platform: Platform) -> str:
        """Return a signed statement of who asks for a token; each is good once.

        References
        ----------
        1EdTech Security Framework 1.1, "Using JSON Web Tokens with OAuth 2.0 Client-Credentials
        Grant"; RFC 7523.
        """
        import jwt

        now = int(time.time())
        claims = {"iss": platform.client_id, "sub": platform.client_id,
                  "aud": platform.audience or platform.token, "iat": now, "exp": now + VALID,
                  "jti": uuid.uuid4().hex}
        return str(jwt.encode(claims, self.secret, algorithm="RS256", headers={"kid": self.name}))


def make_key(folder: Path) -> Path:
    """Make the key where there is none, and write its public half beside it; where that is.

    Parameters
    ----------
    folder : Path
        The course's ``lti`` folder.
    """
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric import rsa

    secret = folder / SECRET
    if not secret.exists():
        made = rsa.generate_private_key(public_exponent=65537, key_size=BITS)
        with owner_only():
            write_whole(secret, made.private_bytes(
                serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                serialization.NoEncryption()))
        give_to_owner(secret)
    public = _public_of(secret)
    with owner_only():
        write_whole(folder / PUBLIC, json.dumps({"keys": [public]}, indent=1) + "\n")
    return give_to_owner(folder / PUBLIC)


def read_key(folder: Path) -> ToolKey:
    """Read the key; others' right to read it is taken away first.

    Raises
    ------
    CommandError
        There is none, or the file is no such key.
    """
    secret = folder / SECRET
    if not secret.is_file():
        raise CommandError(f"there is no {secret}: `acidbase lti register` makes the key, and the "
                           "platform must be given its public half")
    tighten([secret])
    return ToolKey(_public_of(secret)["kid"], secret.read_bytes())


def _public_of(secret: Path) -> dict[str, Any]:
    """The public half as a JSON Web Key, named by its thumbprint (RFC 7638)."""
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric import rsa

    try:
        key = serialization.load_pem_private_key(secret.read_bytes(), None)
    except (ValueError, TypeError):  # and nothing of what stands in it
        key = None
    if not isinstance(key, rsa.RSAPrivateKey):
        raise CommandError(f"{secret} is no RSA key without a password; move it away, register "
                           "again, and give the platform the new public half")
    numbers = key.public_key().public_numbers()
    public = {"e": _base64(numbers.e), "kty": "RSA", "n": _base64(numbers.n)}
    print_ = hashlib.sha256(json.dumps(public, separators=(",", ":")).encode()).digest()
    return {**public, "kid": base64.urlsafe_b64encode(print_).decode().rstrip("="),
            "alg": "RS256", "use": "sig"}


def _base64(number: int) -> str:
    data = number.to_bytes((number.bit_length() + 7) // 8, "big")
    return base64.urlsafe_b64encode(data).decode().rstrip("=")
