"""Control charts of any number that a check reads."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from haccp.charts import queries
from haccp.charts.drawn import charts_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def charts(request: ScopedRequest) -> HttpResponse:
    """?measure= and ?product= choose what is drawn; what is unknown falls back to the first."""
    scope, now = request.scope, timezone.now()
    measures = queries.measures_charted(scope.premises, now)
    measure = next(
        (one for one in measures if one.key == request.GET.get("measure")), measures[0] if measures else None
    )
    context: dict[str, object] = {"measures": measures, "measure": measure}
    if measure is not None:
        products = queries.products_of(scope.premises, measure)
        asked = request.GET.get("product", "")
        product = next((one for one in products if str(one.pk) == asked), products[0] if products else None)
        values = queries.values_of(scope.premises, measure, product, now)
        low, high = queries.limits_of(measure, product)
        context |= {
            "products": products,
            "product": product,
            "values": values,
            "of_lots": queries.is_of_lots(measure),
            "drawn": charts_of(measure, values, low, high, scope.user.preferred_unit(measure.quantity)),
        }
    return render(request, "charts/charts.html", context)
