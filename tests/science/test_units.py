"""Reading, converting and showing quantities."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.units import (
    QUANTITIES,
    convert,
    decimals_to_tell_apart,
    from_si,
    read_typed,
    show,
    show_difference,
    spell_duration,
    to_si,
)

# Reference library: pint (its registry follows NIST SP 811)
PINT_NAMES = {
    "temperature": {"°C": "degC", "°F": "degF", "K": "kelvin"},
    "volume": {"L": "liter", "mL": "milliliter", "m³": "meter**3", "gal (US)": "gallon"},
    "mass": {"kg": "kilogram", "g": "gram", "lb": "pound", "t": "metric_ton"},
    "duration": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
    "hold_time": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
    "pressure": {
        "Pa": "pascal",
        "hPa": "hectopascal",
        "kPa": "kilopascal",
        "mbar": "millibar",
        "bar": "bar",
        "psi": "psi",
    },
    "length": {"m": "meter", "cm": "centimeter", "mm": "millimeter"},
}
EVERY_UNIT = [(q.key, unit) for q in QUANTITIES.values() for unit in q.units]


@pytest.mark.parametrize("key", PINT_NAMES)
def test_conversions_agree_with_pint(key: str) -> None:
    registry = pint.UnitRegistry()
    assert set(PINT_NAMES[key]) == set(QUANTITIES[key].units)

    for from_unit, from_name in PINT_NAMES[key].items():
        for to_unit, to_name in PINT_NAMES[key].items():
            expected = registry.Quantity(72.5, from_name).to(to_name).magnitude
            assert convert(key, 72.5, from_unit, to_unit) == pytest.approx(expected, rel=1e-12)


# 1 °SH = 2.25 °D = 2.5 °Th = 0.0225 % lactic acid (IDF convention; °Th from memory)
@pytest.mark.parametrize(
    ("value", "from_unit", "to_unit", "expected"),
    [
        (8, "°SH", "°D", 18),
        (8, "°SH", "°Th", 20),
        (8, "°SH", "%", 0.18),
        (7, "°SH", "%", 0.1575),
        (1, "%", "°D", 100),
    ],
)
def test_acidity_degrees_agree_with_the_published_table(
    value: float, from_unit: str, to_unit: str, expected: float
) -> None:
    assert convert("titratable_acidity", value, from_unit, to_unit) == pytest.approx(expected, abs=1e-9)


@given(st.sampled_from(EVERY_UNIT), st.floats(-1e6, 1e6))
def test_units_round_trip(key_and_unit: tuple[str, str], value: float) -> None:
    key, unit = key_and_unit

    assert from_si(key, to_si(key, value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.sampled_from([(k, u) for k, u in EVERY_UNIT if k != "answer"]), st.floats(0, 1))
def test_what_is_shown_can_be_typed_again(key_and_unit: tuple[str, str], part: float) -> None:
    key, unit = key_and_unit
    quantity = QUANTITIES[key]
    decimals = quantity.units[unit].decimals
    digit = quantity.units[unit].factor * 10.0 ** -(quantity.decimals if decimals is None else decimals)
    low, high = quantity.plausible_low + digit, quantity.plausible_high - digit
    value_si = low + part * (high - low)

    typed = read_typed(key, show(key, value_si, unit), unit)

    assert abs(typed.value_si - value_si) <= 0.5 * digit * (1 + 1e-6)


@pytest.mark.parametrize(
    ("key", "text", "unit", "expected"),
    [
        ("temperature", "63.5", "°C", 63.5),
        ("temperature", " 63,5 ", "°C", 63.5),
        ("temperature", "145", "°F", 62.777_777_8),
        ("temperature", "+4", "°C", 4.0),
        ("temperature", "\u22121,5", "°C", -1.5),
        ("temperature", "±0.5", "°C", 0.5),
        ("temperature", "63,5 °C", "°C", 63.5),
        ("ph", "pH 5,3", "pH", 5.3),
        ("ph", "5,312", "pH", 5.312),
        ("volume", "1\u202f250,5", "L", 1250.5),
        ("volume", "1.250,5", "L", 1250.5),
        ("volume", "1,250.5", "L", 1250.5),
        ("volume", "0,125", "L", 0.125),
        ("count_cfu", "1,500,000", "cfu/mL", 1.5e6),
        ("count_cfu", "1.500.000", "cfu/mL", 1.5e6),
        ("count_cfu", "1.5e5", "cfu/mL", 1.5e5),
        ("somatic_cells", "400", "×1000 cells/mL", 400_000.0),
        ("duration", "1.5", "h", 5400.0),
    ],
)
def test_numbers_are_read_as_people_type_them(key: str, text: str, unit: str, expected: float) -> None:
    typed = read_typed(key, text, unit)

    assert typed.value_si == pytest.approx(expected)
    assert typed.text == text
    assert typed.unit == unit


@pytest.mark.parametrize(
    ("key", "text", "unit", "sentence"),
    [
        ("ph", "46", "pH", "46 is not a plausible pH (0 to 14). Did you mean 4.6?"),
        ("ph", "530", "pH", "530 is not a plausible pH (0 to 14). Did you mean 5.3?"),
        (
            "temperature",
            "145",
            "°C",
            "145 °C is not a plausible temperature (\u221240 to 130 °C). If the instrument shows °F, choose °F.",
        ),
        (
            "temperature",
            "632",
            "°C",
            "632 °C is not a plausible temperature (\u221240 to 130 °C). Did you mean 63.2?",
        ),
        (
            "temperature",
            "9999",
            "°C",
            "9999 °C is not a plausible temperature (\u221240 to 130 °C). "
            "Read the instrument again and type what it shows.",
        ),
        ("temperature", "  ", "°C", "No temperature was given. Type the temperature as a number."),
        ("temperature", "NaN", "°C", "“NaN” is not a temperature. Type the number that was read."),
        ("temperature", "-inf", "°C", "“-inf” is not a temperature. Type the number that was read."),
        ("count_cfu", "1e999", "cfu/mL", "“1e999” is too large a number. Type the number that was read."),
        (
            "temperature",
            "145 °F",
            "°C",
            "The number was typed in °F, but °C is chosen. Choose °F, or type the value in °C.",
        ),
        (
            "volume",
            "1,250",
            "L",
            "“1,250” can be read as 1.250 or as 1250. Type 1250 without the comma, or 1.250 with a point.",
        ),
        # A point between thousands, as Danish, Dutch, German, Italian and Spanish write it (CLDR, from memory)
        ("volume", "1.200", "L", "“1.200” can be read as 1.200 or as 1200. Type 1200 without the point, or 1.2."),
        (
            "count_cfu",
            "1.250",
            "cfu/mL",
            "“1.250” can be read as 1.250 or as 1250. Type 1250 without the point, or 1.25.",
        ),
        (
            "titratable_acidity",
            "0.16",
            "°D",
            "0.16 °D is not a plausible titratable acidity (2 to 300 °D). If the instrument shows %, choose %.",
        ),
        (
            "titratable_acidity",
            "16",
            "%",
            "16 % is not a plausible titratable acidity (0.02 to 3 %). If the instrument shows °D, choose °D.",
        ),
        ("ph", "5.3", "°C", "“°C” is not a unit of pH. Choose one of: pH."),
    ],
)
def test_bad_input_gets_a_sentence_with_a_remedy(key: str, text: str, unit: str, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        read_typed(key, text, unit)

    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    ("key", "text", "unit", "value"),
    [("mass", "1.200", "kg", 1.2), ("temperature", "12.345", "°C", 12.345), ("volume", "1.2000", "L", 1.2)],
)
def test_a_point_is_not_asked_back_where_three_decimals_are_usual_or_a_thousand_cannot_be(
    key: str, text: str, unit: str, value: float
) -> None:
    assert read_typed(key, text, unit).value_si == pytest.approx(value)


@pytest.mark.parametrize("text", ["warm", "6 3 a", "--4", "4..5", "1,2,3", "<10", "٤٥x"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is not a number"):
        read_typed("temperature", text, "°C")


@given(st.sampled_from([k for k in QUANTITIES if k != "answer"]), st.text(max_size=12))
def test_any_text_is_either_a_plausible_number_or_an_input_error(key: str, text: str) -> None:
    quantity = QUANTITIES[key]
    try:
        typed = read_typed(key, text, quantity.si_unit)
    except InputError:
        return

    assert quantity.plausible_low <= typed.value_si <= quantity.plausible_high


def test_an_answer_cannot_be_typed_as_a_number() -> None:
    with pytest.raises(InputError, match="chosen, not typed"):
        read_typed("answer", "0", "")


def test_an_unknown_quantity_is_named_with_those_that_exist() -> None:
    with pytest.raises(InputError, match=r"no quantity named “colour”.*temperature"):
        show("colour", 1.0)


@pytest.mark.parametrize(
    ("key", "value_si", "unit", "expected"),
    [
        ("temperature", 63.0, "°C", "63.0 °C"),
        ("temperature", 63.0, "", "63.0 °C"),
        ("temperature", 62.777_777_8, "°F", "145.0 °F"),
        ("temperature", -0.01, "°C", "0.0 °C"),
        ("temperature", -1.5, "°C", "\u22121.5 °C"),
        ("ph", 5.3, "pH", "pH 5.30"),
        ("titratable_acidity", 0.18, "°D", "18.0 °D"),
        ("titratable_acidity", 0.18, "%", "0.180 %"),
        ("count_cfu", 100_000.0, "cfu/mL", "100\u00a0000 cfu/mL"),
    ],
)
def test_values_are_shown_as_people_write_them(key: str, value_si: float, unit: str, expected: str) -> None:
    assert show(key, value_si, unit) == expected


def test_a_difference_is_shown_without_the_offset_of_its_unit() -> None:
    assert show_difference("temperature", 3.0, "°F") == "5.4 °F"
    assert show_difference("ph", 0.1, "pH") == "0.10 pH units"


def test_different_values_are_never_shown_as_the_same() -> None:
    assert decimals_to_tell_apart("temperature", (62.97, 63.0)) == 2
    assert decimals_to_tell_apart("temperature", (62.0, 63.0)) == 1
    assert decimals_to_tell_apart("temperature", (63.0, 63.0)) == 1


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        (1872, "31 min 12 s"),
        (1800, "30 min"),
        (1799.99, "29 min 59 s"),
        (21600, "6 h"),
        (15, "15 s"),
        (0.5, "0.5 s"),
        (0.01, "0.01 s"),
        (0, "0 s"),
        (59.99, "59.9 s"),
        (183_600, "2 d 3 h"),
        (-72, "\u22121 min 12 s"),
    ],
)
def test_durations_are_spelled_and_never_rounded_up(seconds: float, expected: str) -> None:
    assert spell_duration(seconds) == expected


def test_what_lacks_is_rounded_up() -> None:
    assert spell_duration(60.2, round_up=True) == "1 min 1 s"
    assert spell_duration(59.99, round_up=True) == "1 min"
