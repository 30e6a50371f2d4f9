"""Distances of a value from a limit's bounds, and the words for them."""

from haccp.science.guard import guard_band
from haccp.science.limit import Comparator, Limit
from haccp.science.units import decimals_to_tell_apart, show, show_difference

NOISE = 1e-9  # float noise of a unit conversion is not a breach


def margin(limit: Limit, value: float) -> float:
    """Distance from the nearest bound, positive inside (SI)."""
    return min(distance for distance, _ in _distances(value, limit.low, limit.high))


def target_margin(limit: Limit, value: float) -> float | None:
    """Distance from the nearest target, positive on the safe side; None where the limit has no target."""
    found = [distance for distance, _ in _distances(value, limit.target_low, limit.target_high)]
    return min(found, default=None)


def nearest_bound(limit: Limit, value: float) -> float:
    """The bound (SI) that margin() is measured from."""
    return min(_distances(value, limit.low, limit.high), key=lambda pair: pair[0])[1]


def _distances(value: float, low: float | None, high: float | None) -> list[tuple[float, float]]:
    found = [] if low is None else [(value - low, low)]
    return found if high is None else [*found, (high - value, high)]


def is_inside(limit: Limit, value: float) -> bool:
    return margin(limit, value) >= -NOISE


def is_proven(limit: Limit, value: float, expanded_uncertainty: float) -> bool:
    """Inside by the guard band or more."""
    return margin(limit, value) >= guard_band(expanded_uncertainty) - NOISE


def is_past_target(limit: Limit, value: float) -> bool:
    distance = target_margin(limit, value)
    return distance is not None and distance < -NOISE


def allowed(limit: Limit, decimals: int | None = None) -> str:
    """The limit in words: "at least 63.0 °C", "between 2.0 °C and 8.0 °C"."""
    low = "" if limit.low is None else show(limit.quantity, limit.low, limit.unit, decimals=decimals)
    high = "" if limit.high is None else show(limit.quantity, limit.high, limit.unit, decimals=decimals)
    if limit.comparator is Comparator.AT_LEAST:
        return f"at least {low}"
    if limit.comparator is Comparator.AT_MOST:
        return f"at most {high}"
    return f"between {low} and {high}"


def places(limit: Limit, value: float) -> int:
    """Decimals at which the value and the bound nearest to it can be told apart."""
    return decimals_to_tell_apart(limit.quantity, (value, nearest_bound(limit, value)), limit.unit)


def distance_words(limit: Limit, value: float) -> str:
    """ "0.4 °C too high", "0.1 °C to spare", "exactly on the limit"."""
    distance = margin(limit, value)
    if abs(distance) <= NOISE:
        return "Exactly on the limit"
    size = show_difference(limit.quantity, abs(distance), limit.unit, decimals=places(limit, value))
    if distance > 0:
        return f"{size} to spare"
    return f"{size} too {'low' if limit.low is not None and value < limit.low else 'high'}"
