"""Every value of the library, typed again beside its clause.

Written from the published texts (and, where a row says so, from memory), apart from the library's own files: a slip
in either shows. A row: id, clause as printed, how it is known, and its numbers in the unit printed.
"""

from typing import NamedTuple


class Row(NamedTuple):
    """numbers: part -> (comparator, printed number or (low, high), unit), a period as ("months", 6)."""

    id: str
    clause: str
    known: str
    numbers: dict[str, tuple[str, object, str]]


class Plan(NamedTuple):
    """A sampling plan: n, c, m, M; "absent" for m and M where the organism must not be found in 25 g."""

    id: str
    clause: str
    known: str
    organism: str
    n: int
    c: int
    m: float | str
    largest: float | str


LEAST, MOST, BETWEEN = "at_least", "at_most", "between"


def heat(value: str, clause: str, known: str, celsius: float, seconds: float) -> Row:
    hold = (30.0, "min") if seconds == 1800 else (seconds, "s")
    return Row(value, clause, known, {"temperature": (LEAST, celsius, "°C"), "hold": (LEAST, *hold)})


CFR = "1240.61(b)"
FOOTNOTE = "1240.61(b), footnote 1"
MICHIGAN = "288.697"
EU_HEAT = "Annex III, section IX, chapter II, part II"
CODEX_HEAT = "Annex II, appendix B"

HEAT = [
    heat("heat.us.63c", CFR, "read", 63, 1800),
    heat("heat.us.72c", CFR, "read", 72, 15),
    heat("heat.us.89c", CFR, "read", 89, 1.0),
    heat("heat.us.90c", CFR, "read", 90, 0.5),
    heat("heat.us.94c", CFR, "read", 94, 0.1),
    heat("heat.us.96c", CFR, "read", 96, 0.05),
    heat("heat.us.100c", CFR, "read", 100, 0.01),
    heat("heat.us.63c.rich", FOOTNOTE, "read", 66, 1800),
    heat("heat.us.72c.rich", FOOTNOTE, "read", 75, 15),
    heat("heat.us-mi.63c", MICHIGAN, "read", 63, 1800),
    heat("heat.us-mi.72c", MICHIGAN, "read", 72, 15),
    heat("heat.us-mi.89c", MICHIGAN, "read", 89, 1.0),
    heat("heat.us-mi.90c", MICHIGAN, "read", 90, 0.5),
    heat("heat.us-mi.94c", MICHIGAN, "read", 94, 0.1),
    heat("heat.us-mi.96c", MICHIGAN, "read", 96, 0.05),
    heat("heat.us-mi.100c", MICHIGAN, "read", 100, 0.01),
    heat("heat.us-mi.63c.rich", MICHIGAN, "read", 66, 1800),
    heat("heat.us-mi.72c.rich", MICHIGAN, "read", 75, 15),
    heat("heat.us-mi.89c.rich", MICHIGAN, "read", 92, 1.0),
    heat("heat.us-mi.90c.rich", MICHIGAN, "read", 93, 0.5),
    heat("heat.us-mi.94c.rich", MICHIGAN, "read", 97, 0.1),
    heat("heat.us-mi.96c.rich", MICHIGAN, "read", 99, 0.05),
    heat("heat.us-mi.100c.rich", MICHIGAN, "read", 103, 0.01),
    heat("heat.eu.63c", EU_HEAT, "secondary", 63, 1800),
    heat("heat.eu.72c", EU_HEAT, "secondary", 72, 15),
    heat("heat.uk.63c", f"{EU_HEAT} (retained)", "memory", 63, 1800),
    heat("heat.uk.72c", f"{EU_HEAT} (retained)", "memory", 72, 15),
    heat("heat.au.72c", "clause 15(1)", "secondary", 72, 15),
    heat("heat.ca.61_6c", "B.08.030(1)", "read", 61.6, 1800),
    heat("heat.ca.63c.plant", "pasteurisation", "memory", 63, 1800),
    heat("heat.ca.72c.plant", "pasteurisation", "memory", 72, 16),
    heat("heat.codex.63c", CODEX_HEAT, "memory", 63, 1800),
    heat("heat.codex.72c", CODEX_HEAT, "memory", 72, 15),
    Row(
        "heat.thermisation.au",
        "clause 16(1)(b)",
        "read",
        {
            "temperature": (LEAST, 64.5, "°C"),
            "hold": (LEAST, 16, "s"),
            "storage": (LEAST, 7, "°C"),
            "age": (LEAST, 90, "d"),
        },
    ),
    Row(
        "heat.thermisation.au.old",
        "clause 2",
        "secondary",
        {
            "temperature": (LEAST, 62, "°C"),
            "hold": (LEAST, 15, "s"),
            "storage": (LEAST, 2, "°C"),
            "age": (LEAST, 90, "d"),
        },
    ),
    Row("heat.curd_cook.au", "clause 16(3)", "memory", {"curd": (LEAST, 48, "°C")}),
    Row("heat.alp.eu", "Annex VIa, chapter II", "secondary", {"phosphatase": (MOST, 350, "mU/L")}),
    Row("heat.alp.uk", "Annex VIa, chapter II (retained)", "memory", {"phosphatase": (MOST, 350, "mU/L")}),
    Row("heat.alp.us", "table 1", "secondary", {"phosphatase": (MOST, 350, "mU/L")}),
    Row("heat.alp.goat", "conclusions", "read", {"phosphatase": (MOST, 300, "mU/L")}),
    Row("heat.alp.ewe", "conclusions", "read", {"phosphatase": (MOST, 500, "mU/L")}),
    # 3 µg in 0.25 g is 12 µg/g, 12 000 µg/kg.
    Row("heat.phenol.us", "133.113(a)(2)", "read", {"phenol": (MOST, 3 / 0.25 * 1000, "µg/kg")}),
]

CHAPTER_1 = "Annex III, section IX, chapter I"

MILK = [
    Row("milk.tbc.cow.eu", f"{CHAPTER_1}, part III, 3(a)(i)", "secondary", {"count": (MOST, 1e5, "cfu/mL")}),
    Row("milk.scc.cow.eu", f"{CHAPTER_1}, part III, 3(a)(i)", "secondary", {"cells": (MOST, 4e5, "cells/mL")}),
    Row("milk.tbc.other.eu", f"{CHAPTER_1}, part III, 3(a)(ii)", "secondary", {"count": (MOST, 1.5e6, "cfu/mL")}),
    Row("milk.tbc.other.raw.eu", f"{CHAPTER_1}, part III, 3(b)", "secondary", {"count": (MOST, 5e5, "cfu/mL")}),
    Row("milk.cooling.daily.eu", f"{CHAPTER_1}, part II.B", "secondary", {"temperature": (MOST, 8, "°C")}),
    Row("milk.cooling.other.eu", f"{CHAPTER_1}, part II.B", "secondary", {"temperature": (MOST, 6, "°C")}),
    Row("milk.arrival.eu", f"{CHAPTER_1}, part II.B", "secondary", {"temperature": (MOST, 10, "°C")}),
    Row("milk.transport.uk.old", "SI 1995/1372, schedule 8", "read", {"temperature": (MOST, 10, "°C")}),
    Row("milk.tbc.us", "table 1", "secondary", {"count": (MOST, 1e5, "cfu/mL")}),
    Row("milk.tbc.us.commingled", "table 1", "secondary", {"count": (MOST, 3e5, "cfu/mL")}),
    Row("milk.scc.us", "table 1", "secondary", {"cells": (MOST, 7.5e5, "cells/mL")}),
    Row("milk.scc.goat.us", "table 1", "secondary", {"cells": (MOST, 1.5e6, "cells/mL")}),
    Row(
        "milk.cooling.us",
        "table 1",
        "secondary",
        {
            "first": (MOST, 10, "°C"),
            "first_within": (MOST, 4, "h"),
            "temperature": (MOST, 7, "°C"),
            "within": (MOST, 2, "h"),
        },
    ),
    Row("milk.held.us", "58.439", "read", {"temperature": (MOST, 45, "°F")}),
    Row(
        "milk.cooling.au",
        "time and temperature controls",
        "secondary",
        {"temperature": (MOST, 5, "°C"), "within": (MOST, 3.5, "h")},
    ),
    Row("milk.saureus.qc", "schedule 11.A", "memory", {"count": (MOST, 2000, "cfu/mL")}),
    Row("milk.tbc.qc", "schedule 11.A", "memory", {"count": (MOST, 50_000, "cfu/mL")}),
    Row("milk.use.qc", "11.6.2(3)", "read", {"within": (MOST, 24, "h")}),
    Row("milk.staphylococci.study", "abstract", "secondary", {"count": (MOST, 100, "cfu/mL")}),
    Row("milk.acidity.study", "abstract", "secondary", {"ph": (MOST, 5.8, "pH"), "within": (MOST, 6, "h")}),
    Row("milk.m1.eu", "Annex I, aflatoxin M1", "secondary", {"m1": (MOST, 0.05, "µg/kg")}),
    Row("milk.m1.eu.old", "Annex, section 2", "secondary", {"m1": (MOST, 0.05, "µg/kg")}),
    Row("milk.m1.uk", "Annex, section 2 (retained)", "memory", {"m1": (MOST, 0.05, "µg/kg")}),
    Row("milk.m1.us", "527.400", "secondary", {"m1": (MOST, 0.5, "µg/kg")}),
    Row("milk.m1.codex", "aflatoxin M1", "secondary", {"m1": (MOST, 0.5, "µg/kg")}),
]

SIXTY_AT_35_F: dict[str, tuple[str, object, str]] = {"age": (LEAST, 60, "d"), "storage": (LEAST, 35, "°F")}


def aged(value: str, clause: str, known: str, count: float, unit: str) -> Row:
    return Row(value, clause, known, {"age": (LEAST, count, unit)})


AGEING = [
    Row("ageing.us.soft", "133.182(a)", "read", SIXTY_AT_35_F),
    Row("ageing.us.cheddar", "133.113(a)(1)", "read", SIXTY_AT_35_F),
    Row("ageing.us.hard", "133.150(a)", "read", SIXTY_AT_35_F),
    Row("ageing.us.semisoft", "133.187(a)", "read", SIXTY_AT_35_F),
    Row("ageing.us.granular", "133.144(a)(1)", "read", SIXTY_AT_35_F),
    Row("ageing.us.usda", "58.439", "read", SIXTY_AT_35_F),
    aged("ageing.us.asiago_fresh", "133.102", "read", 60, "d"),
    aged("ageing.us.asiago_medium", "133.103", "read", 6, "months"),
    aged("ageing.us.asiago_old", "133.104", "secondary", 1, "years"),
    aged("ageing.us.blue", "133.106(a)(1)", "read", 60, "d"),
    aged("ageing.us.gorgonzola", "133.141", "secondary", 90, "d"),
    aged("ageing.us.caciocavallo", "133.111", "secondary", 90, "d"),
    aged("ageing.us.gruyere", "133.149(a)(1)", "read", 90, "d"),
    aged("ageing.us.grating", "133.148", "read", 6, "months"),
    aged("ageing.us.romano", "133.183", "read", 5, "months"),
    aged("ageing.us.parmesan", "133.165", "read", 10, "months"),
    Row(
        "ageing.ca",
        "B.08.030(1), B.08.044(1)",
        "read",
        {"age": (LEAST, 60, "d"), "storage": (LEAST, 2, "°C")},
    ),
    aged("ageing.eu.brucella", f"{CHAPTER_1}, part I, 3(b)", "memory", 2, "months"),
    Row(
        "ageing.au.thermised",
        "clause 16(1)(b)",
        "read",
        {"age": (LEAST, 90, "d"), "storage": (LEAST, 7, "°C")},
    ),
    Row("ageing.mark.ca", "B.08.042", "read", {"within": (MOST, 3, "d")}),
]

LISTERIA_NOTE = "Annex I, chapter 1, footnote 8"
FACTORS_1992 = "factors affecting the growth of pathogens"
ICMSF = "minima of growth"
APPENDIX_4 = "table A-1"


def grows(
    value: str, clause: str, known: str, ph: float | None, aw: float | None, celsius: float | None = None,
    salt: float | None = None,
) -> Row:  # fmt: skip
    numbers: dict[str, tuple[str, object, str]] = {}
    if ph is not None:
        numbers["ph"] = (LEAST, ph, "pH")
    if aw is not None:
        numbers["aw"] = (LEAST, aw, "aw")
    if celsius is not None:
        numbers["temperature"] = (LEAST, celsius, "°C")
    if salt is not None:
        numbers["salt_in_water"] = (MOST, salt, "%")
    return Row(value, clause, known, numbers)


GROWTH = [
    Row("growth.listeria.eu.ph", LISTERIA_NOTE, "read", {"ph": (MOST, 4.4, "pH")}),
    Row("growth.listeria.eu.aw", LISTERIA_NOTE, "read", {"aw": (MOST, 0.92, "aw")}),
    Row("growth.listeria.eu.both", LISTERIA_NOTE, "read", {"ph": (MOST, 5.0, "pH"), "aw": (MOST, 0.94, "aw")}),
    Row("growth.listeria.eu.days", LISTERIA_NOTE, "memory", {"shelf_life": (MOST, 5, "d")}),
    grows("growth.fda1992.salmonella", FACTORS_1992, "read", 4.5, 0.95, 6.5),
    grows("growth.fda1992.saureus", FACTORS_1992, "read", 4.2, 0.86, 7),
    grows("growth.fda1992.listeria", FACTORS_1992, "read", 4.4, 0.92, 0),
    grows("growth.fda1992.ecoli", FACTORS_1992, "read", 4.6, 0.935, 2.5),
    grows("growth.fda1992.campylobacter", FACTORS_1992, "read", 5.5, None, 25),
    grows("growth.fda1992.bcereus", FACTORS_1992, "read", 4.9, 0.95),
    grows("growth.fda1992.cbotulinum", FACTORS_1992, "read", 4.7, 0.93),
    grows("growth.fda1992.yersinia", FACTORS_1992, "read", 4.4, None, 1),
    grows("growth.icmsf1996.salmonella", ICMSF, "secondary", 3.8, 0.94),
    grows("growth.icmsf1996.saureus", ICMSF, "secondary", 4.0, 0.83),
    grows("growth.icmsf1996.ecoli", ICMSF, "secondary", 4.4, 0.95),
    grows("growth.icmsf1996.listeria", ICMSF, "secondary", 4.4, 0.92),
    grows("growth.fish4.listeria", APPENDIX_4, "memory", 4.4, 0.92, -0.4, 10),
    grows("growth.fish4.salmonella", APPENDIX_4, "memory", 3.7, 0.94, 5.2, 8),
    grows("growth.fish4.saureus", APPENDIX_4, "memory", 4.0, 0.83, 7, 20),
    grows("growth.fish4.saureus_toxin", APPENDIX_4, "memory", 4.0, 0.85, 10, 10),
    grows("growth.fish4.ecoli", APPENDIX_4, "memory", 4.0, 0.95, 6.5, 6.5),
    grows("growth.fish4.campylobacter", APPENDIX_4, "memory", 4.9, 0.987, 30, 1.7),
    grows("growth.fish4.bcereus", APPENDIX_4, "memory", 4.3, 0.92, 4, 10),
    grows("growth.fish4.cbotulinum1", APPENDIX_4, "memory", 4.6, 0.935, 10, 10),
    grows("growth.fish4.cbotulinum2", APPENDIX_4, "memory", 5.0, 0.97, 3.3, 5),
]

FOOD_CODE = "4-501.114, 4-703.11"

SANITISING = [
    Row(
        "sanitise.chlorine.25",
        FOOD_CODE,
        "secondary",
        {"strength": (BETWEEN, (25, 49), "mg/L"), "temperature": (LEAST, 49, "°C"), "contact": (LEAST, 10, "s")},
    ),
    Row(
        "sanitise.chlorine.50.ph10",
        FOOD_CODE,
        "secondary",
        {
            "strength": (BETWEEN, (50, 99), "mg/L"),
            "ph": (MOST, 10, "pH"),
            "temperature": (LEAST, 38, "°C"),
            "contact": (LEAST, 7, "s"),
        },
    ),
    Row(
        "sanitise.chlorine.50.ph8",
        FOOD_CODE,
        "secondary",
        {
            "strength": (BETWEEN, (50, 99), "mg/L"),
            "ph": (MOST, 8, "pH"),
            "temperature": (LEAST, 24, "°C"),
            "contact": (LEAST, 7, "s"),
        },
    ),
    Row(
        "sanitise.chlorine.100",
        FOOD_CODE,
        "secondary",
        {"strength": (LEAST, 100, "mg/L"), "temperature": (LEAST, 13, "°C"), "contact": (LEAST, 10, "s")},
    ),
    Row(
        "sanitise.iodine",
        FOOD_CODE,
        "secondary",
        {
            "strength": (BETWEEN, (12.5, 25), "mg/L"),
            "ph": (MOST, 5, "pH"),
            "temperature": (LEAST, 20, "°C"),
            "contact": (LEAST, 30, "s"),
        },
    ),
    Row("sanitise.quat", FOOD_CODE, "secondary", {"temperature": (LEAST, 24, "°C"), "contact": (LEAST, 30, "s")}),
    Row(
        "sanitise.hot_water.us-ca",
        "33519(c), (d)",
        "read",
        {"temperature": (LEAST, 170, "°F"), "contact": (LEAST, 5, "min")},
    ),
    Row(
        "sanitise.hot_water.us",
        "sanitising of equipment",
        "memory",
        {"temperature": (LEAST, 77, "°C"), "contact": (LEAST, 5, "min")},
    ),
    Row(
        "sanitise.steam.170.us-ca",
        "33519(a)",
        "read",
        {"temperature": (LEAST, 170, "°F"), "contact": (LEAST, 15, "min")},
    ),
    Row(
        "sanitise.steam.200.us-ca",
        "33519(a)",
        "read",
        {"temperature": (LEAST, 200, "°F"), "contact": (LEAST, 5, "min")},
    ),
    Row(
        "sanitise.hot_air.us-ca", "33519(e)", "read", {"temperature": (LEAST, 180, "°F"), "contact": (LEAST, 20, "min")}
    ),
]


def kept(value: str, clause: str, known: str, count: int, unit: str) -> Row:
    return Row(value, clause, known, {"keep": (LEAST, count, unit)})


RECORDS = [
    kept("records.us.117", "117.315(a)(1)", "secondary", 2, "years"),
    kept("records.us.trace", "1.1455", "memory", 2, "years"),
    kept("records.us.usda", "58.441", "read", 3, "months"),
    kept("records.us.pmo_chart", "item 16p(E)", "memory", 3, "months"),
    kept("records.us-ca.chart", "34064", "read", 1, "years"),
    kept("records.us.fish", "123.9", "memory", 1, "years"),
]

ENTEROTOXIN_TRIGGER = Row(
    "micro.eu.enterotoxin_trigger",
    "Annex I, chapter 2.2, rows 2.2.3 to 2.2.5",
    "read",
    {"count": (MOST, 1e5, "cfu/g")},
)

ROWS: list[Row] = [*HEAT, *MILK, *AGEING, *GROWTH, *SANITISING, *RECORDS, ENTEROTOXIN_TRIGGER]

ONE = "Annex I, chapter 1, row "
TWO = "Annex I, chapter 2.2, row "
S27 = "S27—4, "
CPS = "Coagulase-positive staphylococci"

PLANS: list[Plan] = [
    Plan("micro.eu.1.2.market", f"{ONE}1.2", "read", "Listeria monocytogenes", 5, 0, 100, 100),
    Plan("micro.eu.1.2.maker", f"{ONE}1.2", "read", "Listeria monocytogenes", 5, 0, "absent", "absent"),
    Plan("micro.eu.1.3", f"{ONE}1.3", "read", "Listeria monocytogenes", 5, 0, 100, 100),
    Plan("micro.eu.1.11", f"{ONE}1.11", "read", "Salmonella", 5, 0, "absent", "absent"),
    Plan("micro.eu.1.21", f"{ONE}1.21", "memory", "Staphylococcal enterotoxins", 5, 0, "absent", "absent"),
    Plan("micro.eu.2.2.1", f"{TWO}2.2.1", "memory", "Enterobacteriaceae", 5, 0, 10, 10),
    Plan("micro.eu.2.2.2", f"{TWO}2.2.2", "read", "E. coli", 5, 2, 100, 1000),
    Plan("micro.eu.2.2.3", f"{TWO}2.2.3", "read", CPS, 5, 2, 1e4, 1e5),
    Plan("micro.eu.2.2.4", f"{TWO}2.2.4", "read", CPS, 5, 2, 100, 1000),
    Plan("micro.eu.2.2.5", f"{TWO}2.2.5", "read", CPS, 5, 2, 10, 100),
    Plan("micro.au.ecoli", f"{S27}all cheese", "read", "E. coli", 5, 1, 10, 100),
    Plan("micro.au.salmonella.raw", f"{S27}raw milk cheese", "read", "Salmonella", 5, 0, "absent", "absent"),
    Plan(
        "micro.au.enterotoxin.raw",
        f"{S27}raw milk cheese",
        "read",
        "Staphylococcal enterotoxins",
        5,
        0,
        "absent",
        "absent",
    ),
    Plan("micro.au.salmonella.soft", f"{S27}soft and semi-soft cheese", "read", "Salmonella", 5, 0, "absent", "absent"),
    Plan("micro.ca.ecoli.pasteurised.old", "B.08.048(1)(a)", "read", "E. coli", 1, 0, 100, 100),
    Plan("micro.ca.saureus.pasteurised.old", "B.08.048(1)(b)", "read", "S. aureus", 1, 0, 100, 100),
    Plan("micro.ca.ecoli.raw.old", "B.08.048(2)(a)", "read", "E. coli", 1, 0, 500, 500),
    Plan("micro.ca.saureus.raw.old", "B.08.048(2)(b)", "read", "S. aureus", 1, 0, 1000, 1000),
    Plan("micro.qc.saureus.pasteurised", "schedule 11.C", "read", "S. aureus", 5, 2, 100, 10_000),
    Plan("micro.qc.ecoli.pasteurised", "schedule 11.C", "read", "E. coli", 5, 2, 100, 1000),
    Plan("micro.qc.saureus.raw", "schedule 11.C", "read", "S. aureus", 5, 2, 1000, 10_000),
    Plan("micro.qc.ecoli.raw", "schedule 11.C", "read", "E. coli", 5, 2, 500, 1000),
    Plan("micro.qc.saureus.fresh", "schedule 11.C", "read", "S. aureus", 5, 2, 10, 100),
    Plan("micro.us.listeria", "527.300", "memory", "Listeria monocytogenes", 1, 0, "absent", "absent"),
    Plan("micro.us.salmonella", "527.300", "memory", "Salmonella", 1, 0, "absent", "absent"),
]

# FDA Food Code 1-201.10, tables A and B: rows of water activity, columns of pH; "assess" is printed PA.
FOOD_CODE_A = {
    "up to 0.92": ["non", "non", "non"],
    "above 0.92 to 0.95": ["non", "non", "assess"],
    "above 0.95": ["non", "assess", "assess"],
}
FOOD_CODE_B = {
    "below 0.88": ["non", "non", "non", "non"],
    "0.88 to 0.90": ["non", "non", "non", "assess"],
    "above 0.90 to 0.92": ["non", "non", "assess", "assess"],
    "above 0.92": ["non", "assess", "assess", "assess"],
}

# Values without a number: id, clause, and words that the rule must hold.
RULES: list[tuple[str, str, str]] = [
    ("heat.thermisation.eu", EU_HEAT, "defined only by what it is not"),
    ("heat.thermisation.us", "133.113(a)(1), 133.182(a) and others", "60 days at 35 °F"),
    ("heat.thermisation.ca", "B.08.030(1), B.08.044", "60 days at 2 °C"),
    ("heat.airspace.us", "item 16p(B)", "3 °C (5 °F) above"),
    ("heat.airspace.us-ca", "584(b)", "5 °F (3 °C) above"),
    ("milk.residues.us", "section 6 and appendix N", "positive screen"),
    ("milk.residues.eu", f"{CHAPTER_1}, part III, 4", "37/2010"),
    ("milk.health.eu", f"{CHAPTER_1}, part I, 2 and 3", "two months"),
    ("milk.health.cattle.eu", f"{CHAPTER_1}, part I, 2 and 3", "heat treatment"),
    ("ageing.eu.none", "Annex III, section IX", "no minimum age"),
    ("ageing.au.raw", "Division 5 (clause 17 on)", "validated"),
    ("ageing.qc.young", "11.6.1, 11.6.2", "11.6.2"),
    ("ageing.cut.ca", "B.08.043", "60 days"),
    ("ageing.sale.ca", "B.08.045, B.08.047", "900 lb"),
    ("ageing.label.eu", "Annex III, section IX, chapter IV", "raw milk"),
    ("ageing.us.must_pasteurise", "1240.61(a)", "60 days"),
    ("micro.ca.table", "cheese", "not read"),
    ("sanitise.peracetic", "180.940", "label"),
    ("sanitise.draining.us", "180.940(a)", "adequate draining"),
    ("instrument.indicating.us", "item 16p and appendices H and I", "0.25 °C (0.5 °F)"),
    ("instrument.indicating.us-ca", "585", "0.5 °F"),
    ("instrument.thermometer.au", "clause 22", "1 °C"),
    ("records.us.117.review", "117.165(a)(4)", "7 working days"),
    ("records.us.117.content", "117.305", "actual values"),
    ("records.us.117.plan", "117.310", "owner, operator or agent in charge"),
    ("records.eu.852", "article 5(4)", "appropriate time"),
    ("records.eu.trace", "article 18", "supplied"),
    ("records.eu.931", "article 3", "date of dispatch"),
    ("records.codex", "chapter 2, section 3.12", "signed or initialled"),
]
