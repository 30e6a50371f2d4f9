"""What the library answers when it is asked for the law of a place on a day, against the published rules."""

import datetime as dt

import pytest

from haccp.plan.library import Library

TODAY = dt.date(2026, 11, 25)
SPECIES = ("cow", "goat", "ewe", "buffalo")


def ages(library: Library, jurisdiction: str, species: str, treatment: str, day: dt.date = TODAY) -> set[str]:
    return {value.id for value in library.floors(jurisdiction, species, treatment, "ageing", day) if value.parts}


def test_us_raw_and_thermised_cheese_ages_sixty_days_at_35_f(library: Library) -> None:
    """21 CFR 133.182(a), .113(a)(1), .150(a), .187(a), .144(a)(1): what is not pasteurised is unpasteurised."""
    for treatment in ("raw", "thermised"):
        for value_id in ("soft", "cheddar", "hard", "semisoft", "granular"):
            assert f"ageing.us.{value_id}" in ages(library, "US", "cow", treatment)
            value = library.values[f"ageing.us.{value_id}"]
            assert value.part("age").low == 60 * 86_400
            assert value.part("storage").low == pytest.approx((35 - 32) * 5 / 9, abs=1e-3)
    assert ages(library, "US", "cow", "pasteurised") == {"ageing.us.blue"}  # 133.106 ages it whatever the milk


def test_canada_stores_sixty_days_at_2_c_what_is_not_from_a_pasteurized_source(library: Library) -> None:
    """B.08.030(1), B.08.044(1): 2 °C, not the 35 °F (1.7 °C) of the US."""
    for treatment in ("raw", "thermised"):
        assert ages(library, "CA", "goat", treatment) == {"ageing.ca"}
    value = library.values["ageing.ca"]
    assert (value.part("age").low, value.part("storage").low) == (60 * 86_400, 2.0)
    assert ages(library, "CA", "goat", "pasteurised") == set()


def test_australia_ages_thermised_cheese_ninety_days_at_7_c_and_names_no_days_for_raw(library: Library) -> None:
    """Standard 4.2.4 clause 16(1)(b), in force since 28 June 2012; raw-milk cheese is Division 5."""
    assert ages(library, "AU", "cow", "thermised") == {"ageing.au.thermised"}
    value = library.values["ageing.au.thermised"]
    assert (value.part("age").low, value.part("storage").low) == (90 * 86_400, 7.0)
    assert ages(library, "AU", "cow", "raw") == set()
    assert library.values["ageing.au.raw"].rule


@pytest.mark.parametrize("jurisdiction", ["EU", "UK"])
def test_the_eu_has_no_general_age_and_two_months_for_flocks_that_are_not_free(
    library: Library, jurisdiction: str
) -> None:
    """From memory, and marked so: Regulation (EC) 853/2004, Annex III, section IX, chapter I, part I."""
    for species in SPECIES:
        for treatment in ("raw", "thermised"):
            expected = {"ageing.eu.brucella"} if species in ("goat", "ewe") else set()
            assert ages(library, jurisdiction, species, treatment) == expected
    assert library.values["ageing.eu.none"].known == "memory"
    assert library.values["ageing.eu.brucella"].known == "memory"


def test_the_older_australian_rule_answers_only_for_its_own_time(library: Library) -> None:
    """62 °C for 15 s and 2 °C for 90 days until 27 June 2012; 64.5 °C for 16 s and 7 °C from the day after."""

    def on(day: dt.date) -> list[str]:
        return [value.id for value in library.floors("AU", "cow", "thermised", "thermisation", day)]

    assert on(dt.date(2012, 6, 27)) == ["heat.thermisation.au.old"]
    assert on(dt.date(2012, 6, 28)) == ["heat.thermisation.au"]
    old = library.values["heat.thermisation.au.old"]
    assert old.superseded_by == "heat.thermisation.au"
    assert "heat.thermisation.au.old" in {value.id for value in library.values_of("thermisation", "AU")}


def test_no_eu_pair_is_given_for_thermising(library: Library) -> None:
    """The trap: EU law defines no temperature and time for it."""
    for jurisdiction in ("EU", "UK"):
        found = library.values_of("thermisation", jurisdiction)
        assert found
        assert all(not value.parts for value in found)


def test_nothing_that_is_thermised_is_called_pasteurised(library: Library) -> None:
    for value in library.values.values():
        if value.subject == "thermisation":
            assert value.treatments == ("thermised",)
            assert "pasteurisation" not in value.title.lower()
        if value.subject == "pasteurisation":
            assert value.treatments == ("pasteurised",)
    for control in library.controls.values():
        if "thermis" in control.id:
            assert "pasteuris" not in control.name.lower()
            assert "pasteurised" not in control.when["treatment"]


def test_a_state_keeps_to_federal_law_and_adds_its_own(library: Library) -> None:
    federal = {value.id for value in library.floors("US", "cow", "pasteurised", "pasteurisation", TODAY)}
    michigan = {value.id for value in library.floors("US-MI", "cow", "pasteurised", "pasteurisation", TODAY)}
    assert federal < michigan
    assert "heat.us-mi.89c.rich" in michigan - federal


def test_alkaline_phosphatase_of_350_is_the_law_for_cows_only(library: Library) -> None:
    """Regulation (EC) 2074/2005 Annex VIa ch. II; EFSA 2021 proposes 300 (goat) and 500 (ewe) mU/L."""
    assert library.values["heat.alp.eu"].species == ("cow",)
    for species, level in (("goat", 300), ("ewe", 500)):
        value = library.values[f"heat.alp.{species}"]
        assert (value.species, value.force, value.part("phosphatase").high) == ((species,), "guidance", level)


def test_repealed_canadian_criteria_say_what_took_their_place(library: Library) -> None:
    """B.08.048 was repealed by SOR/2024-244 s. 57; version in force until 17 December 2024."""
    old = [value for value in library.values.values() if value.document == "ca-fdr-b08048"]
    assert len(old) == 4
    for value in old:
        assert value.superseded_by == "micro.ca.table"
        assert value.is_in_force(dt.date(2024, 12, 17))
        assert not value.is_in_force(dt.date(2024, 12, 18))


def test_what_is_only_remembered_is_never_marked_as_read(library: Library) -> None:
    """Texts that nobody read while the library was made."""
    unread = {"us-fish-hazards-app4", "eu-37-2010", "eu-1169-2011", "au-3.2.2", "ca-micro-table",
              "ca-cfia-dairy", "us-21cfr123", "practice", "uk-1881-2006"}  # fmt: skip
    for name in unread:
        assert library.documents[name].known == "memory"
    for value in library.values.values():
        if value.document in unread:
            assert value.known == "memory"
    assert "(from memory)" in library.citation(library.values["ageing.eu.none"])


def test_us_citation_reads_as_people_cite_it(library: Library) -> None:
    assert library.citation(library.values["ageing.us.soft"]) == "21 CFR 133, 133.182(a)"
