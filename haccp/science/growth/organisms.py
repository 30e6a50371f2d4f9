"""Cardinal values of the pathogens of cheese, each with its source and how far it can be trusted."""

from dataclasses import dataclass

from haccp.science.growth.cardinal import Cardinal


@dataclass(frozen=True, slots=True)
class Organism:
    """rate_per_h: specific growth rate at the optimum of all factors, 1/h (ln). confidence: "fair" or "low".

    tested_c, tested_aw: what the source's data covered, None where that was not read. Outside, and in any food but
    the medium, the model extrapolates.
    """

    name: str
    temperature: Cardinal
    ph: Cardinal
    aw: Cardinal
    rate_per_h: float
    medium: str
    source: str
    confidence: str
    tested_c: tuple[float, float] | None = None
    tested_aw: tuple[float, float] | None = None


ORGANISMS: dict[str, Organism] = {
    "listeria_monocytogenes": Organism(
        name="Listeria monocytogenes",
        temperature=Cardinal(-1.72, 37.0, 45.5, 2),
        ph=Cardinal(4.71, 7.10, 9.61, 1),
        aw=Cardinal(0.913, 0.997, 1.0, 2),
        rate_per_h=1.0,
        medium="many foods and broths",
        source=(
            "Cardinal values: Augustin et al. 2005, J Appl Microbiol 99:1019, from memory. Rate: rounded up from "
            "broth, from memory."
        ),
        confidence="low",
    ),
    "staphylococcus_aureus": Organism(
        name="Staphylococcus aureus",
        temperature=Cardinal(7.7, 40.6, 46.7, 2),
        ph=Cardinal(4.0, 7.0, 10.0, 1),
        aw=Cardinal(0.808, 0.994, 1.0, 2),
        rate_per_h=1.97,
        medium="one strain (2064), salt added",
        source=(
            "Temperature, water activity and rate: Medveďová et al. 2019, Ital J Food Saf 8:8287 (read). pH: ICMSF "
            "1996 as quoted by the USDA (read)."
        ),
        confidence="fair",
        tested_c=(8.0, 50.0),
        tested_aw=(0.83, 0.999),
    ),
    "escherichia_coli": Organism(
        name="Escherichia coli",
        temperature=Cardinal(7.0, 40.0, 46.0, 2),
        ph=Cardinal(4.4, 7.0, 9.0, 1),
        aw=Cardinal(0.95, 0.995, 1.0, 2),
        rate_per_h=2.1,
        medium="broth",
        source=(
            "Limits: ICMSF 1996 as quoted by the USDA (read), the wider end of each range. Rate: a doubling in 20 min, "
            "from memory. Pathogenic strains may start at 6.5 °C and pH 4.0 (FDA fish guide, from memory)."
        ),
        confidence="low",
    ),
}
