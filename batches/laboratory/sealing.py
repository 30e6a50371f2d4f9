"""What the ledger says of samples and results: made the same way when a row is sealed and when it is verified."""

from batches.laboratory.models import Sample, SampleTest, TestResult
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def sample_body(sample: Sample) -> Body:
    return {
        "code": sample.code,
        "lot": sample.lot_id,
        "place": sample.place_id,
        "spot": sample.spot,
        "laboratory": sample.laboratory,
        "verifies": sample.verifies_id,
        "taken": sample.taken_at,
        "sent": sample.sent_at,
        "temperature_c": sample.temperature_c,
        "note": sample.note,
        "recorded": sample.recorded_at,
        "by": sample.recorded_by_id,
        "tests": [_test_body(test) for test in sorted(sample.tests.all(), key=lambda one: one.position)],
    }


def _test_body(test: SampleTest) -> Body:
    return {
        "id": test.pk,
        "position": test.position,
        "kind": test.kind,
        "parameter": test.parameter,
        "n": test.n,
        "c": test.c,
        "m": test.m,
        "M": test.largest,
        "unit": test.unit,
        "absent_in": test.absent_in,
        "criterion": test.criterion,
        "source": test.source,
        "fewer_because": test.fewer_because,
    }


def result_body(result: TestResult) -> Body:
    return {
        "test": result.test_id,
        "values": result.values,
        "unit": result.unit,
        "method": result.method,
        "report": result.report_number,
        "reported": result.reported_at,
        "ruling": str(result.ruling),
        "code": result.code,
        "reason": result.reason,
        "facts": result.facts,
        "deviation": result.deviation_id,
        "replaces": result.replaces_id,
        "replace_reason": result.replace_reason,
        "recorded": result.recorded_at,
        "by": result.recorded_by_id,
    }


def register() -> None:
    register_rows(
        "sample.taken",
        prefix="sample",
        rows=lambda: Sample.objects.prefetch_related("tests"),
        body=sample_body,
        log_key="premises__log__key",
    )
    register_rows(
        "sample.result",
        prefix="sample_result",
        rows=TestResult.objects.all,
        body=result_body,
        log_key="test__sample__premises__log__key",
    )
