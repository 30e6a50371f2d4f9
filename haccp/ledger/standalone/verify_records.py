"""Checks exported records with Python alone: no network, no other file, nothing to install.

    python3 verify_records.py records.json
    python3 verify_records.py records.json --fingerprint NY2A-WOM4-7767-5BBL/1204

It answers one question: are these records exactly those that the log sealed? Each record is hashed as it was when
it was sealed, and its proof must lead from that hash to the root of the log (RFC 9162, section 2.1). The root is
shown as a fingerprint. Compare it with one that was printed on paper at the time: a document in which everything
was rewritten, root and all, agrees with itself, but not with the paper.

Exit code 0: the records hold. 1: they do not. 2: the document cannot be read.
"""

import argparse
import base64
import hashlib
import json
import re
import sys
from pathlib import Path
from typing import Any

FORMAT = "ledger-export/1"
HASH = re.compile(r"[0-9a-f]{64}")
DOCUMENT = {"log": str, "size": int, "root": str, "entries": list, "signatures": list}
ENTRY = {
    "index": int,
    "kind": str,
    "subject": str,
    "body": str,
    "recorded_at": str,
    "actor": str,
    "leaf_hash": str,
    "proof": list,
}


class UnreadableError(Exception):
    """The document is not an export; the message says where."""


class MisfitError(Exception):
    """A record does not fit the log; the message says which, and how."""


def sha256(data: bytes) -> bytes:
    return hashlib.sha256(data).digest()


def leaf_hash(log: str, entry: dict[str, Any]) -> bytes:
    """SHA-256(0x00 || JSON): all fields but the hashes, keys in order, no spaces, UTF-8.

    For texts and whole numbers, which is all there is here, this is the canonical JSON of RFC 8785.
    """
    sealed = {name: entry[name] for name in ("actor", "body", "index", "kind", "recorded_at", "subject")}
    written = json.dumps(sealed | {"log": log}, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return sha256(b"\x00" + written.encode("utf-8"))


def leads_to_root(leaf: bytes, index: int, size: int, proof: list[bytes], root: bytes) -> bool:
    """Whether the inclusion proof leads from the leaf to the root: RFC 9162 s.2.1.3.2."""
    node, last, result = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if node % 2 == 1 or node == last:
            result = sha256(b"\x01" + sibling + result)
            while node % 2 == 0 and node > 0:
                node, last = node // 2, last // 2
        else:
            result = sha256(b"\x01" + result + sibling)
        node, last = node // 2, last // 2
    return last == 0 and result == root


def fingerprint(root: str, size: int) -> str:
    letters = base64.b32encode(bytes.fromhex(root)[:10]).decode("ascii")
    return "-".join(letters[place : place + 4] for place in range(0, 16, 4)) + f"/{size}"


def read(path: Path) -> dict[str, Any]:
    """The document, with every field present and of its type. Errors: UnreadableError."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise UnreadableError(f"{path} cannot be read: {error}") from error
    except (ValueError, RecursionError) as error:
        raise UnreadableError(f"{path} is not a JSON document, or was cut short: {error}") from error
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise UnreadableError(f"{path} is not an export of sealed records: its “format” is not {FORMAT}.")
    require(document, DOCUMENT, "The document")
    require_hashes([document["root"]], "The document's root")
    for place, entry in enumerate(document["entries"]):
        require(entry, ENTRY, f"Entry number {place + 1}")
        require_hashes([entry["leaf_hash"], *entry["proof"]], f"Entry number {place + 1}")
    return document


def require(holder: Any, fields: dict[str, type], name: str) -> None:
    if not isinstance(holder, dict):
        raise UnreadableError(f"{name} is not a JSON object.")
    for field, kind in fields.items():
        if type(holder.get(field)) is not kind:
            raise UnreadableError(f"{name} lacks “{field}”, or it is not of the right type ({kind.__name__}).")


def require_hashes(hashes: list[Any], name: str) -> None:
    for text in hashes:
        if not isinstance(text, str) or HASH.fullmatch(text) is None:
            raise UnreadableError(f"{name} holds a hash that is not 64 hexadecimal digits: {text!r}.")


def check(document: dict[str, Any]) -> None:
    """Errors: MisfitError for the first record that the log did not seal as it stands here."""
    size, root, before = document["size"], bytes.fromhex(document["root"]), -1
    for entry in document["entries"]:
        index, name = entry["index"], f"Entry {entry['index']} ({entry['kind']}, {entry['subject']})"
        if not before < index < size:
            raise MisfitError(f"{name} is out of place: indices rise from 0, and the log has {size} entries.")
        before = index
        leaf = leaf_hash(document["log"], entry)
        if leaf.hex() != entry["leaf_hash"]:
            raise MisfitError(f"{name} is not what was sealed: it does not hash to its leaf.")
        if not leads_to_root(leaf, index, size, [bytes.fromhex(text) for text in entry["proof"]], root):
            raise MisfitError(f"{name} is not in this log: its proof does not lead to the log's root.")


def say(text: str) -> None:
    sys.stdout.write(text + "\n")


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Checks exported records against the log that sealed them.")
    parser.add_argument("document", type=Path)
    parser.add_argument("--fingerprint", help="the fingerprint printed on paper, to compare with the document's")
    options = parser.parse_args(arguments)
    try:
        document = read(options.document)
        check(document)
        found = fingerprint(document["root"], document["size"])
        typed = re.sub(r"[^A-Z0-9/]", "", (options.fingerprint or "").upper())
        if options.fingerprint is not None and typed != found.replace("-", ""):
            raise MisfitError(f"The document's fingerprint is {found}, not {options.fingerprint}.")
    except UnreadableError as error:
        say(f"NOT CHECKED. {error}")
        return 2
    except MisfitError as error:
        say(f"DOES NOT HOLD. {error}")
        return 1
    count = len(document["entries"])
    say(f"HOLDS. {count} records of the log {document['log']}, which had {document['size']} entries.")
    say(f"Fingerprint {found}" + ("" if options.fingerprint else ": compare it with one printed at the time."))
    if document["signatures"]:
        say("The signatures over the log's head were not checked: this program does not know them yet.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
