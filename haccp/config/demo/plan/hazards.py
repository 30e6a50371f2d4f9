"""The hazard analysis: what may go wrong at each step, how likely and grave, and why it is significant or not."""

from dataclasses import dataclass

from haccp.config.demo.plan.flow import Flow
from haccp.plan import actions as plan
from haccp.plan.models import Hazard, PlanRevision
from haccp.premises.scope import Scope

Kind = Hazard.Kind
Hazards = dict[str, Hazard]


@dataclass(frozen=True, slots=True)
class _Line:
    key: str
    step: str
    kind: str
    name: str
    likelihood: int
    severity: int
    significant: bool
    justification: str
    control_measure: str
    agent: str = ""


_LINES = (
    _Line(
        "brucella",
        "milk",
        Kind.BIOLOGICAL,
        "Brucella melitensis and B. abortus (ewes, goats, cows)",
        1,
        5,
        True,
        "Grave for people, and raw ewe's cheese has no step that kills it; kept out by animals that are free of it.",
        "Herds and flock officially free, certificate renewed each year; raw cheese from our own flock only.",
    ),
    _Line(
        "residues",
        "milk",
        Kind.CHEMICAL,
        "Residues of antibiotics and other veterinary medicines",
        2,
        3,
        True,
        "Treated animals are milked in the same parlour; residues harm people and stop the starter.",
        "Treated animals marked and milked last; residue test of each lot before it is used.",
    ),
    _Line(
        "raw_stec",
        "milk",
        Kind.BIOLOGICAL,
        "Shiga toxin-producing E. coli (STEC) and Salmonella in raw milk",
        3,
        5,
        True,
        "Shed by healthy animals; a small dose makes children gravely ill; the hard cheese is made of raw milk.",
        "Hygiene of milking, milk cold at once; fast acidification, long ripening as validated for the hard cheese.",
    ),
    _Line(
        "store_growth",
        "store",
        Kind.BIOLOGICAL,
        "Growth of Listeria monocytogenes in cold milk",
        1,
        4,
        False,
        "It grows in the cold, but slowly: at 6 °C over two days the increase is small, and most milk is used sooner.",
        "Tank at 6 °C or less; milk used within two days.",
    ),
    _Line(
        "survival",
        "pasteurise",
        Kind.BIOLOGICAL,
        "Survival of Listeria monocytogenes, STEC, Salmonella, Brucella, Coxiella",
        2,
        5,
        True,
        "The soft cheese lets Listeria grow in ripening, so the milk must be free of it; too cold or too short leaves "
        "it alive.",
        "63 °C for 30 min, recorded; phosphatase of each vat.",
    ),
    _Line(
        "thermise_survival",
        "thermise",
        Kind.BIOLOGICAL,
        "Survival of vegetative pathogens in thermised milk",
        2,
        4,
        True,
        "Thermisation lowers their number but is no pasteurisation; what it does in our vat was validated.",
        "64 °C for 60 s by our own validation; then fast acidification and ripening.",
    ),
    _Line(
        "staph",
        "starter",
        Kind.BIOLOGICAL,
        "Growth of Staphylococcus aureus and its toxin in the vat",
        3,
        4,
        True,
        "Common on udders and hands; it grows while the starter is slow, and the toxin survives any later heat.",
        "Starter dose; pH reached in the time that was validated for each cheese.",
    ),
    _Line(
        "metal",
        "cut",
        Kind.PHYSICAL,
        "Metal: broken cutting wires, bolts of the press",
        1,
        3,
        False,
        "Wires break now and then, but are counted at each make, and a lost piece is seen at once.",
        "Wires and blades whole before and after each make; press looked over weekly.",
    ),
    _Line(
        "cleaning_agents",
        "set",
        Kind.CHEMICAL,
        "Traces of cleaning and disinfecting agents",
        2,
        2,
        False,
        "Vats are rinsed with drinking water and drained; traces would also stop the starter.",
        "Concentration measured; rinse, drain, look.",
    ),
    _Line(
        "listeria_ripening",
        "ripen",
        Kind.BIOLOGICAL,
        "Listeria monocytogenes on rinds, from drains, boards and brushes",
        3,
        5,
        True,
        "The washed rind is damp and its pH rises: Listeria grows there. It comes from the room, not from the milk.",
        "Rooms in range, drains and boards clean, brushes and aprons of their own; rinds and drains tested monthly.",
    ),
    _Line(
        "pests",
        "ripen",
        Kind.BIOLOGICAL,
        "Mites, flies and mice",
        2,
        2,
        False,
        "A nuisance for the cheese rather than a danger for people, and seen early on the weekly walk.",
        "Screens, shut doors, traps looked at weekly.",
    ),
    _Line(
        "allergens",
        "pack",
        Kind.ALLERGEN,
        "Milk, and lysozyme from egg if a label does not name it",
        1,
        4,
        False,
        "All our cheese is milk and says so; no lysozyme is used; the wrong label is the one way to go wrong.",
        "First and last label of each packing day read against the recipe.",
    ),
    _Line(
        "glass",
        "mould",
        Kind.PHYSICAL,
        "Glass and hard plastic from lamps and thermometers",
        1,
        4,
        False,
        "Lamps are covered, and no glass thermometers are in use.",
        "Covers looked at on the closing round; a breakage stops work and is reported.",
    ),
    _Line(
        "warm_growth",
        "warm",
        Kind.BIOLOGICAL,
        "Growth of what raw milk holds while it is warmed",
        1,
        4,
        False,
        "Half an hour at 32 °C; the starter goes in at once, and its fall of the pH is watched (CCP 3).",
        "Warmed at once and in one go; the starter weighed out beforehand.",
    ),
    _Line(
        "brine",
        "salt",
        Kind.BIOLOGICAL,
        "Listeria monocytogenes and salt-loving germs living in the brine",
        1,
        4,
        False,
        "The brine is at 18 % salt and 12 °C, skimmed daily and renewed each quarter; nothing was found in two years.",
        "Salt and temperature of the brine; swabs each quarter.",
    ),
    _Line(
        "cold_growth",
        "dispatch",
        Kind.BIOLOGICAL,
        "Growth of Listeria monocytogenes in the cold store",
        1,
        4,
        False,
        "Short stay, and the soft cheese's shelf life was set for 8 °C.",
        "Cold store at 8 °C or less.",
    ),
)


def add_hazards(owner: Scope, revision: PlanRevision, flow: Flow) -> Hazards:
    """Hazards by a short key."""
    return {
        line.key: plan.hazard_add(
            scope=owner,
            revision=revision,
            step=flow[line.step],
            kind=line.kind,
            name=line.name,
            likelihood=line.likelihood,
            severity=line.severity,
            significant=line.significant,
            justification=line.justification,
            control_measure=line.control_measure,
            agent=line.agent,
        )
        for line in _LINES
    }
