"""A by-product is sealed with its lot ("lot.opened") and its link; its own row holds what was typed."""

from batches.tracing.models import ByProduct
from haccp.ledger.sealed_rows import register_rows


def by_product_body(row: ByProduct) -> dict[str, object]:
    return {
        "kind": row.kind,
        "amount": row.amount,
        "unit": row.unit,
        "typed": f"{row.typed_amount} {row.typed_unit}",
    }


def register() -> None:
    register_rows(
        "lot.by_product",
        prefix="by_product",
        rows=ByProduct.objects.all,
        body=by_product_body,
        log_key="lot__premises__log__key",
    )
