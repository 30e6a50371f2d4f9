"""Temperatures as a person prefers to read them."""

from dataclasses import dataclass

from haccp.drawing.picture import FloatArray


@dataclass(frozen=True, slots=True)
class Degrees:
    """shown = °C × factor + offset."""

    unit: str
    factor: float
    offset: float

    def of(self, celsius: float) -> float:
        return celsius * self.factor + self.offset

    def map(self, celsius: FloatArray) -> FloatArray:
        return celsius * self.factor + self.offset


CELSIUS = Degrees("°C", 1.0, 0.0)
FAHRENHEIT = Degrees("°F", 1.8, 32.0)
