"""The words in heads and header lines that tell what is meant, in the languages around us."""

import re

_WORD = re.compile(r"[^\W\d_]+")


def words(text: str) -> frozenset[str]:
    """The words of a head or key, without regard to case."""
    return frozenset(_WORD.findall(text.casefold()))


TIME = words(
    "time date datetime timestamp epoch unix posix clock elapsed seconds secs sec minutes t zeit datum uhrzeit "
    "zeitstempel heure horodatage temps fecha hora tiempo data ora tempo tijd tid tidspunkt"
)
ELAPSED = words(
    "elapsed duration runtime laufzeit dauer verstrichen écoulé écoulée durée transcurrido duración trascorso durata"
)
HOT = words("steam jacket heating boiler dampf vapeur mantel heizung")
AROUND = HOT | words("water room ambient cooling cellar outside setpoint set target wasser raum eau agua acqua chamber")
AIR_SPACE = words("air airspace headspace luft aire aria lucht")
PRODUCT = words(
    "milk product cream whey curd vat holding milch produkt rahm lait produit leche producto latte melk mælk"
)
TEMPERATURE = words("temp temperature temperatur température temperatura temperatuur probe sensor")
NO_TEMPERATURE = words(
    "flow valve divert diversion pressure speed ph level alarm status state pump conductivity humidity volume "
    "battery marker event note comment operator code count rate error"
)
COUNTER = words("no nr index sample record row number")
START = words("start started begin began beginn début inicio inizio commenced first")
DAY = words("date day datum fecha data dato jour tag")
NOT_START = words(
    "end stop stopped finish export exported printed print calibration calibrated due download downloaded version "
    "firmware expiry last created ende"
)
UNIT = words("unit units einheit unité unidad unità eenheid")
