"""How anybody can check, without this service, that nothing was changed."""

from collections.abc import Iterator

from django.utils.translation import gettext
from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from haccp.ledger.standalone import verify_records
from haccp.reports.draw.lasting import RECORDS_FILE
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.gather.evidence import Evidence
from haccp.reports.languages import own

KEY = "verify"
TITLE = own("How to verify this pack")
VERIFIER = f"{verify_records.__name__.rpartition('.')[2]}.py"


def verification_section(evidence: Evidence) -> Iterator[Flowable]:
    yield Heading(TITLE, KEY)
    yield words(
        own(
            "Each record, missed check, deviation, corrective action and signature was sealed in an append-only "
            "ledger at the moment it was entered. The ledger is a tree of hashes (RFC 9162): its root changes if a "
            "single letter of a single entry is changed, and its fingerprint is the short form of that root. Days are "
            "signed under it."
        )
    )
    steps = (
        gettext(
            "Save the file {file} that is attached to this PDF (most PDF readers list attachments under a paper clip). "
            "It holds the {count} entries that the pages of this pack show, with their proofs."
        ).format(file=RECORDS_FILE, count=evidence.entry_count),
        gettext(
            "Get {program} from whoever looks after the service, or from its source code. It is one file of Python "
            "that needs nothing else installed and no network."
        ).format(program=VERIFIER),
        gettext("Run: {command}").format(
            command=f"python3 {VERIFIER} {RECORDS_FILE} --fingerprint {evidence.fingerprint} --key {evidence.key_words}"
        ),
        gettext(
            "“HOLDS” means: these entries are exactly those that the ledger sealed. Somebody who rewrote the whole "
            "ledger would get another fingerprint: compare it with one on a paper that left the dairy earlier."
        ),
    )
    for number, step in enumerate(steps, start=1):
        yield words(f"{number}.  {step}")
    yield Spacer(1, 6)
    yield Facts(
        (
            ("Fingerprint", evidence.fingerprint),
            ("Root of the tree", evidence.root_hex),
            ("Head signed by the key", evidence.key_words),
            ("Log", evidence.log_key),
            ("Entries attached", str(evidence.entry_count)),
        )
    )
