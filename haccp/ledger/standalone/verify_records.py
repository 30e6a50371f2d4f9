"""Checks exported records with Python alone: no network, no other file, nothing to install.

    python3 verify_records.py records.json
    python3 verify_records.py records.json --fingerprint NY2A-WOM4-7767-5BBL/1204
    python3 verify_records.py records.json --key a1b2-c3d4-e5f6-0718
    python3 verify_records.py records.json --earlier older.json
    python3 verify_records.py dairy.zip

It answers one question: are these records exactly those that the log sealed? Each record is hashed as it was when
it was sealed, and its proof must lead from that hash to the root of the log (RFC 9162, section 2.1). Heads of the
log that the service signed (Ed25519, RFC 8032) must be its own earlier states: a consistency proof shows that the
log only grew. A name must be the one that was sealed; a name that was erased on request is missing, and all else
still holds. The root is shown as a fingerprint. Compare it with one that was printed on paper at the time: a document
in which everything was rewritten, root and all, agrees with itself, but not with the paper, and not with an older
export (--earlier).

The export of a whole dairy (ZIP) is checked too: its manifest is signed, every file has the sum that the manifest
names, and the log is hashed from its first entry to its last, in bounded memory.

Exit code 0: the records hold. 1: they do not. 2: the document cannot be read.
"""

import argparse
import base64
import hashlib
import json
import re
import sys
import zipfile
from pathlib import Path
from typing import Any

FORMAT = "ledger-export/2"
WHOLE = "premises-export/1"
LONGEST_LINE = 128 * 1024 * 1024
PURPOSE = "signed-head/1"
NAME = "sha256:"
HASH = re.compile(r"[0-9a-f]{64}")
DOCUMENT = {"log": str, "size": int, "root": str, "entries": list, "heads": list, "names": dict}
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
HEAD = {"size": int, "root": str, "signed_at": str, "public_key": str, "signature": str, "consistency": list}


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


def extends(first: int, first_root: bytes, second: int, second_root: bytes, proof: list[bytes]) -> bool:
    """Whether the proof shows that the log of `first` entries begins that of `second`: RFC 9162 s.2.1.4.2."""
    if not 0 < first <= second:
        return False
    if first == second:
        return not proof and first_root == second_root
    path = [first_root, *proof] if first & (first - 1) == 0 else list(proof)
    if not path:
        return False
    node, last = first - 1, second - 1
    while node % 2 == 1:
        node, last = node // 2, last // 2
    old = new = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if node % 2 == 1 or node == last:
            old, new = sha256(b"\x01" + sibling + old), sha256(b"\x01" + sibling + new)
            while node % 2 == 0 and node > 0:
                node, last = node // 2, last // 2
        else:
            new = sha256(b"\x01" + new + sibling)
        node, last = node // 2, last // 2
    return last == 0 and old == first_root and new == second_root


# Ed25519 as RFC 8032 describes it in section 5.1, for verifying alone, where speed and secrecy do not matter.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
Point = tuple[int, int, int, int]
BASE_Y = 4 * pow(5, P - 2, P) % P


def add(one: Point, two: Point) -> Point:
    """RFC 8032 s.5.1.4, extended homogeneous coordinates."""
    a, b = (one[1] - one[0]) * (two[1] - two[0]) % P, (one[1] + one[0]) * (two[1] + two[0]) % P
    c, d = 2 * one[3] * two[3] * D % P, 2 * one[2] * two[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return (e * f % P, g * h % P, f * g % P, e * h % P)


def times(number: int, point: Point) -> Point:
    result: Point = (0, 1, 1, 0)
    while number > 0:
        if number & 1:
            result = add(result, point)
        point, number = add(point, point), number >> 1
    return result


def point_of(data: bytes) -> Point | None:
    """RFC 8032 s.5.1.3; None for what is no point."""
    y = int.from_bytes(data, "little")
    sign, y = y >> 255, y & (2**255 - 1)
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    if (x * x - square) % P or (x == 0 and sign):
        return None
    if x & 1 != sign:
        x = P - x
    return (x, y, 1, x * y % P)


def is_signed(key: bytes, message: bytes, signature: bytes) -> bool:
    """RFC 8032 s.5.1.7."""
    if len(key) != 32 or len(signature) != 64:
        return False
    public, r, s = point_of(key), point_of(signature[:32]), int.from_bytes(signature[32:], "little")
    base = point_of(BASE_Y.to_bytes(32, "little"))
    if public is None or r is None or base is None or s >= ORDER:
        return False
    h = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % ORDER
    left, right = times(s, base), add(r, times(h, public))
    return (left[0] * right[2] - right[0] * left[2]) % P == 0 and (left[1] * right[2] - right[1] * left[2]) % P == 0


def key_words(public_key: str) -> str:
    digits = hashlib.sha256(bytes.fromhex(public_key)).hexdigest()[:16]
    return "-".join(digits[place : place + 4] for place in range(0, 16, 4))


def fingerprint(root: str, size: int) -> str:
    letters = base64.b32encode(bytes.fromhex(root)[:10]).decode("ascii")
    return "-".join(letters[place : place + 4] for place in range(0, 16, 4)) + f"/{size}"


def is_archive(path: Path) -> bool:
    """By its first bytes: an archive behind something else would be checked, and the something else be read."""
    try:
        with path.open("rb") as file:
            return file.read(4) == b"PK\x03\x04" and zipfile.is_zipfile(path)
    except OSError:
        return False


def each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Of a key that stands twice, programs show one or the other. Errors: ValueError."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice in one object")
    return found


def read(path: Path) -> dict[str, Any]:
    """The document, with every field present and of its type. Errors: UnreadableError."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"), object_pairs_hook=each_key_once)
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
    for place, head in enumerate(document["heads"]):
        require(head, HEAD, f"Signed head number {place + 1}")
        require_hashes([head["root"], head["public_key"], *head["consistency"]], f"Signed head number {place + 1}")
        if re.fullmatch(r"[0-9a-f]{128}", head["signature"]) is None:
            raise UnreadableError(f"Signed head number {place + 1} holds a signature that is not 128 digits.")
    for reference, name in document["names"].items():
        require(name, {"salt": str, "text": str}, f"The name {reference}")
        require_hashes([reference.removeprefix(NAME), name["salt"]], f"The name {reference}")
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


def check_names(document: dict[str, Any]) -> int:
    """How many of those who acted are named. Errors: MisfitError for a name that is not the one sealed."""
    for reference, name in document["names"].items():
        if NAME + sha256(bytes.fromhex(name["salt"]) + name["text"].encode("utf-8")).hex() != reference:
            raise MisfitError(f"The name “{name['text']}” is not the one that was sealed as {reference}.")
    acted = {entry["actor"] for entry in document["entries"] if entry["actor"].startswith(NAME)}
    return len(acted - set(document["names"]))


def check_heads(document: dict[str, Any], key: str | None) -> None:
    """Errors: MisfitError for a head that is not signed, not by this key, or not of this log."""
    for head in document["heads"]:
        name = f"The signed head at {head['size']} entries"
        sealed = {"log": document["log"], "purpose": PURPOSE} | {
            field: head[field] for field in ("size", "root", "signed_at")
        }
        message = json.dumps(sealed, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode("utf-8")
        if not is_signed(bytes.fromhex(head["public_key"]), message, bytes.fromhex(head["signature"])):
            raise MisfitError(f"{name} does not carry a signature of the key that it names.")
        if key is not None and re.sub(r"[^0-9a-f]", "", key.lower()) != key_words(head["public_key"]).replace("-", ""):
            raise MisfitError(f"{name} was signed by another key: {key_words(head['public_key'])}, not {key}.")
        check_grew(document, head["size"], head["root"], head["consistency"], name)
    if key is not None and not any(head["size"] == document["size"] for head in document["heads"]):
        raise MisfitError("The document's own head is not signed.")


def check_grew(document: dict[str, Any], size: int, root: str, proof: list[str], name: str) -> None:
    hashes = [bytes.fromhex(text) for text in proof]
    if not extends(size, bytes.fromhex(root), document["size"], bytes.fromhex(document["root"]), hashes):
        raise MisfitError(f"{name} is no beginning of this log: the log was rewritten after it was signed.")


def check_earlier(document: dict[str, Any], earlier: dict[str, Any]) -> None:
    """Errors: MisfitError where an older export of the same log is not a beginning of this one."""
    if earlier["log"] != document["log"]:
        raise MisfitError(f"The earlier document is of the log {earlier['log']}, not of {document['log']}.")
    known = {head["size"]: head for head in document["heads"]}
    head = known.get(earlier["size"])
    if head is None:
        raise MisfitError(
            f"This document holds no signed head at {earlier['size']} entries, the size of the earlier one: ask for an"
            " export that does."
        )
    if head["root"] != earlier["root"]:
        raise MisfitError("The log was rewritten: its root at the size of the earlier document is another one.")


class Growing:
    """The log's Merkle tree as entries are added, as few hashes as the size has ones: RFC 9162 s.2.1.1."""

    def __init__(self) -> None:
        self.size, self.peaks = 0, list[bytes]()

    def add(self, leaf: bytes) -> None:
        self.peaks.append(leaf)
        self.size += 1
        pairs = self.size
        while pairs % 2 == 0:
            right, left = self.peaks.pop(), self.peaks.pop()
            self.peaks.append(sha256(b"\x01" + left + right))
            pairs //= 2

    def root(self) -> bytes:
        if not self.peaks:
            return sha256(b"")
        result = self.peaks[-1]
        for peak in reversed(self.peaks[:-1]):
            result = sha256(b"\x01" + peak + result)
        return result


def whole_manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    """The manifest, signed by the key that it names. Errors: UnreadableError, MisfitError."""
    try:
        content = archive.read("manifest.json")
        signature = bytes.fromhex(archive.read("manifest.sig").decode("ascii").strip())
        manifest: dict[str, Any] = json.loads(content)
        require(manifest, {"format": str, "log": dict, "public_key": str, "files": dict}, "The manifest")
        require(manifest["log"], {"key": str, "size": int, "root": str}, "The manifest's log")
        require_hashes([manifest["public_key"], manifest["log"]["root"]], "The manifest")
    except (KeyError, ValueError, RecursionError) as error:
        raise UnreadableError(f"The archive has no manifest that can be read: {error}") from error
    if manifest["format"] != WHOLE:
        raise UnreadableError(f"The archive is not an export of a dairy: its “format” is not {WHOLE}.")
    if not is_signed(bytes.fromhex(manifest["public_key"]), WHOLE.encode("ascii") + b"\n" + content, signature):
        raise MisfitError("The manifest does not carry a signature of the key that it names.")
    return manifest


def check_files(archive: zipfile.ZipFile, files: dict[str, Any]) -> None:
    """Errors: MisfitError for a file that is missing, not named, or another one."""
    names = archive.namelist()
    for name in sorted(set(names) ^ {*files, "manifest.json", "manifest.sig"}):
        raise MisfitError(f"{name} is {'not named by the manifest' if name in names else 'missing'}.")
    if len(set(names)) != len(names):
        raise MisfitError("A file is in the archive twice.")
    for name in sorted(files):
        require(files[name], {"sha256": str, "bytes": int}, f"The manifest's {name}")
        digest = hashlib.sha256()
        with archive.open(name) as source:
            while data := source.read(1024 * 1024):
                digest.update(data)
        if digest.hexdigest() != files[name]["sha256"]:
            raise MisfitError(f"{name} is not the file that was exported.")


def lines_of(archive: zipfile.ZipFile, table: str, fields: dict[str, type]) -> Any:
    name = f"rows/{table}.jsonl"
    with archive.open(name) as source:
        for number, line in enumerate(iter(lambda: source.readline(LONGEST_LINE), b""), start=1):
            try:
                row = json.loads(line)
            except (ValueError, RecursionError) as error:
                raise UnreadableError(f"Line {number} of {name} is not JSON: {error}") from error
            require(row, fields, f"Line {number} of {name}")
            yield row


SIGNED = {"size": int, "root_hex": str, "signed_at": str, "public_key": str, "signature": str}


def check_whole(path: Path, key: str | None) -> tuple[dict[str, Any], int]:
    """The manifest, and how many signed heads hold. Errors: UnreadableError, MisfitError."""
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = whole_manifest(archive)
            if key is not None and re.sub(r"[^0-9a-f]", "", key.lower()) != key_words(manifest["public_key"]).replace(
                "-", ""
            ):
                raise MisfitError(f"The manifest was signed by the key {key_words(manifest['public_key'])}, not {key}.")
            check_files(archive, manifest["files"])
            heads = {head["size"]: head for head in lines_of(archive, "ledger.signedhead", SIGNED)}
            check_log(archive, manifest["log"], heads)
            check_commitments(archive)
    except (OSError, KeyError, EOFError, NotImplementedError, zipfile.BadZipFile) as error:
        raise UnreadableError(f"{path} cannot be read to its end: {error}") from error
    return manifest, len(heads)


def check_log(archive: zipfile.ZipFile, log: dict[str, Any], heads: dict[int, dict[str, Any]]) -> None:
    """Every entry hashes to its leaf, and all together to the signed heads and to the manifest's root."""
    fields = {name: kind for name, kind in ENTRY.items() if name != "proof"}
    growing = Growing()
    for size in sorted(heads):
        if size > log["size"]:
            raise MisfitError(f"A head was signed at {size} entries, and the log has {log['size']}.")
    check_head(log["key"], growing, heads)
    for entry in lines_of(archive, "ledger.entry", fields):
        name = f"Entry {entry['index']} ({entry['kind']}, {entry['subject']})"
        if entry["index"] != growing.size:
            raise MisfitError(f"{name} is out of place: entry {growing.size} is due.")
        leaf = leaf_hash(log["key"], entry)
        if leaf.hex() != entry["leaf_hash"]:
            raise MisfitError(f"{name} is not what was sealed: it does not hash to its leaf.")
        growing.add(leaf)
        check_head(log["key"], growing, heads)
    if growing.size != log["size"] or growing.root().hex() != log["root"]:
        raise MisfitError(f"The {growing.size} entries are not the log of {log['size']} that the manifest names.")


def check_head(log: str, growing: Growing, heads: dict[int, dict[str, Any]]) -> None:
    head = heads.get(growing.size)
    if head is None:
        return
    name = f"The signed head at {head['size']} entries"
    require_hashes([head["root_hex"], head["public_key"]], name)
    if head["root_hex"] != growing.root().hex():
        raise MisfitError(f"{name} is no beginning of this log: the log was rewritten after it was signed.")
    sealed = {"log": log, "purpose": PURPOSE, "root": head["root_hex"], "signed_at": head["signed_at"]}
    message = json.dumps(sealed | {"size": head["size"]}, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    try:
        signature = bytes.fromhex(head["signature"])
    except ValueError:
        signature = b""
    if not is_signed(bytes.fromhex(head["public_key"]), message.encode("utf-8"), signature):
        raise MisfitError(f"{name} does not carry a signature of the key that it names.")


def check_commitments(archive: zipfile.ZipFile) -> None:
    for name in lines_of(archive, "ledger.personaltext", {"commitment": str, "salt": str, "text": str}):
        if name.get("erased_at") is None:
            require_hashes([name["salt"]], "A name")
            if sha256(bytes.fromhex(name["salt"]) + name["text"].encode("utf-8")).hex() != name["commitment"]:
                raise MisfitError(f"The name “{name['text']}” is not the one that was sealed.")


def say_whole(manifest: dict[str, Any], heads: int, fingerprint_typed: str | None) -> None:
    """Errors: MisfitError where the fingerprint from paper is another one."""
    log = manifest["log"]
    found = fingerprint(log["root"], log["size"])
    if fingerprint_typed is not None and re.sub(r"[^A-Z0-9/]", "", fingerprint_typed.upper()) != found.replace("-", ""):
        raise MisfitError(f"The log's fingerprint is {found}, not {fingerprint_typed}.")
    say(f"HOLDS. {log['size']} entries of the log {log['key']}, {heads} signed heads, {len(manifest['files'])} files.")
    say(f"Fingerprint {found}, signed by the key {key_words(manifest['public_key'])}: compare both with printed ones.")
    say("That each row says what its entry sealed is checked where the export is brought in.")


def say(text: str) -> None:
    sys.stdout.write(text + "\n")


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Checks exported records against the log that sealed them.")
    parser.add_argument("document", type=Path)
    parser.add_argument("--fingerprint", help="the fingerprint printed on paper, to compare with the document's")
    parser.add_argument("--key", help="the short form of the service's public key, as printed at the time")
    parser.add_argument("--earlier", type=Path, help="an older export, which this one must only have added to")
    options = parser.parse_args(arguments)
    try:
        if is_archive(options.document):
            say_whole(*check_whole(options.document, options.key), options.fingerprint)
            return 0
        document = read(options.document)
        check(document)
        check_heads(document, options.key)
        unnamed = check_names(document)
        if options.earlier is not None:
            check_earlier(document, read(options.earlier))
        found = fingerprint(document["root"], document["size"])
        typed = re.sub(r"[^A-Z0-9/]", "", (options.fingerprint or "").upper())
        if options.fingerprint is not None and typed != found.replace("-", ""):
            raise MisfitError(f"The document's fingerprint is {found}, not {options.fingerprint}.")
    except UnreadableError as error:
        say(f"NOT CHECKED. {error}")
        return 2
    except UnicodeEncodeError:
        say("NOT CHECKED. A text holds half of a character (a lone surrogate), which nothing that was sealed does.")
        return 2
    except MisfitError as error:
        say(f"DOES NOT HOLD. {error}")
        return 1
    count = len(document["entries"])
    say(f"HOLDS. {count} records of the log {document['log']}, which had {document['size']} entries.")
    say(f"Fingerprint {found}" + ("" if options.fingerprint else ": compare it with one printed at the time."))
    for head in document["heads"][-1:]:
        say(
            f"{len(document['heads'])} signed heads hold; the last is of {head['signed_at']}, by the key"
            f" {key_words(head['public_key'])}" + ("." if options.key else ": compare it with one printed at the time.")
        )
    if unnamed:
        say(f"{unnamed} of those who acted are not named: their names were erased on request.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
