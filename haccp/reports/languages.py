"""The languages that papers speak in, and how each writes dates and the few words of pictures.

What people typed, the plan's own words and the sentences of rulings stand as they were sealed, in whatever language.
"""

from typing import cast

from django.utils.translation import get_language, gettext_lazy

from haccp.drawing.wording import ENGLISH, Wording

DEFAULT = "en-gb"
LANGUAGES = ((DEFAULT, "English"), ("fr", "français"))
FRENCH = Wording(
    months=("janv.", "févr.", "mars", "avr.", "mai", "juin", "juil.", "août", "sept.", "oct.", "nov.", "déc."),
    decimal_point=",",
    limit="limite {value} {unit}",
    target="cible {value} {unit}",
    air_space_limit="limite de l’air {value} {unit}",
    product="Produit",
    air_space="Air de la cuve",
    hold="Maintien {duration}",
    lowest="minimum {value} {unit}, {time}",
    at_most_by="≤ {value} à {elapsed}",
    at_least_by="≥ {value} à {elapsed}",
    no_record="aucun enregistrement",
    missed="non fait {date} {time}",
    missed_many="{count} contrôles non faits",
    since="temps depuis : {event} ({unit})",
    days="j",
)
WORDINGS = {DEFAULT: ENGLISH, "fr": FRENCH}
# What a PDF says that it is written in (RFC 5646).
TAGS = {DEFAULT: "en-GB", "fr": "fr"}


def wording() -> Wording:
    """Of the language in which a paper is being made."""
    return WORDINGS.get(get_language() or DEFAULT, ENGLISH)


def language_tag() -> str:
    return TAGS.get(get_language() or DEFAULT, TAGS[DEFAULT])


def own(text: str) -> str:
    """Words of the service's own, said in the language of the paper at the moment at which they are drawn."""
    return cast(str, gettext_lazy(text))
