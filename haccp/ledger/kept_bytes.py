"""What was sealed of a file that a row keeps: always taken from its bytes, never from the column beside them."""

import hashlib
import zlib

UNREADABLE = "cannot be inflated"


def inflated(deflated: bytes | memoryview) -> bytes | None:
    """The file that was kept as one zlib stream (RFC 1950); None for anything that is not exactly one."""
    stream = zlib.decompressobj()
    try:
        content = stream.decompress(bytes(deflated))
    except zlib.error:
        return None
    return content if stream.eof and not stream.unused_data else None


def sha256_of_inflated(deflated: bytes | memoryview) -> str:
    """SHA-256 of the file, in hexadecimal; UNREADABLE where there is none, which no honest entry says."""
    content = inflated(deflated)
    return UNREADABLE if content is None else hashlib.sha256(content).hexdigest()


def agreed(computed: str, said: str) -> str:
    """The hash of the bytes, where the column beside them says the same; else both, which no honest entry says."""
    return computed if computed == said else f"{computed}, while the row says {said}"
