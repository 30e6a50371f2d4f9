"""The archive: a ZIP file that anything opens.

`manifest.json`         what is in it: rows of each table, size and SHA-256 of each file, head of the log
`manifest.sig`          Ed25519 over the manifest's bytes by the key that signs the heads, in hexadecimal
`rows/app.model.jsonl`  every row, one JSON object for each line, columns by their names
`attachments/...`       photographs, evidence and recorder files as they were sent
`papers/...`            visit packs (PDF), and the plan in force
`tables/name.csv`       the tables that people read, as the service offers them
`verify_records.py`     checks all this without the service
"""

from dataclasses import dataclass

FORMAT = "premises-export/1"
PURPOSE = b"premises-export/1\n"  # before the manifest's bytes, so that no other signature can stand for this one
MANIFEST = "manifest.json"
SIGNATURE = "manifest.sig"
VERIFIER = "verify_records.py"
# A line holds a row, and a row at most one recorder file's samples.
LONGEST_LINE = 128 * 1024 * 1024
LARGEST_MANIFEST = 256 * 1024 * 1024


def rows_file(label: str) -> str:
    return f"rows/{label.lower()}.jsonl"


@dataclass(frozen=True, slots=True)
class Attached:
    """A column whose bytes are a file of their own. deflated: it is kept as zlib, and leaves as it was sent."""

    column: str
    deflated: bool
    ending: str = ""


ATTACHED: dict[str, Attached] = {
    "checks.PhotoFile": Attached("kept", deflated=False, ending=".jpg"),
    "checks.TraceFile": Attached("raw_deflated", deflated=True),
    "deviations.Evidence": Attached("deflated", deflated=True),
}
