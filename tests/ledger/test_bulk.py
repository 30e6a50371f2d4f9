"""Rows added in bulk are the rows that Django would have added, and canonical text is the library's to the letter."""

from datetime import UTC, datetime

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from haccp.ledger import canonical
from haccp.ledger.actions import Sealing, open_log, seal_across, seal_many
from haccp.ledger.bulk import FEW
from haccp.ledger.models import Entry
from haccp.ledger.verification import verify_log

NOW = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)
plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text()
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(plain)
def test_canonical_text_is_what_the_library_of_rfc_8785_writes(value: canonical.JsonValue) -> None:
    assert canonical.dumps(value) == rfc8785.dumps(value)


@pytest.mark.django_db
def test_many_facts_of_several_logs_are_sealed_as_one_by_one() -> None:
    logs = [open_log(key=f"premises:{n}", at=NOW) for n in range(3)]
    facts = [
        Sealing("check.missed", f"missed:{n}", {"n": n, "what": 'tab\t, "quote" and é\x7f'}) for n in range(FEW + 5)
    ]

    together = seal_across({log.pk: facts for log in logs}, actor="schedule", at=NOW)
    seal_many(log_id=logs[0].pk, sealings=facts[:1], actor="schedule", at=NOW)

    for log in logs:
        log.refresh_from_db()
        assert not verify_log(log, kinds={}).problem
        stored = Entry.objects.filter(log=log).order_by("index")
        assert [(one.subject, one.body, one.subtrees) for one in stored[: FEW + 5]] == [
            (one.subject, one.body, one.subtrees) for one in together[log.pk]
        ]
    assert [log.size for log in logs] == [FEW + 6, FEW + 5, FEW + 5]
