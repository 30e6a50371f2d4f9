"""Where a procedure can start from: the usual stages of each family of cheese, without numbers of anybody's recipe.

Order and times are common practice, no source: they are there to be changed.
"""

from dataclasses import dataclass

from batches.making.models import StageKind

K = StageKind
_MIN = 60.0
_H = 3600.0


@dataclass(frozen=True, slots=True)
class Start:
    """duration_s: a usual length, where there is one. multiplier: of the flocculation time."""

    kind: StageKind
    name: str = ""
    duration_s: float | None = None
    multiplier: float | None = None


def _set(multiplier: float) -> tuple[Start, ...]:
    return (Start(K.RENNET), Start(K.FLOCCULATION, multiplier=multiplier), Start(K.CUT))


_BEGIN = (Start(K.WARM), Start(K.RIPEN, duration_s=45 * _MIN))
_END = (Start(K.RIPENING), Start(K.PACK))

FAMILIES: dict[str, tuple[Start, ...]] = {
    "fresh_lactic": (
        Start(K.WARM),
        Start(K.RIPEN, "add starter and a little rennet, let it set", 18 * _H),
        Start(K.DRAIN, "drain in bags or moulds", 12 * _H),
        Start(K.SALT),
        Start(K.PACK),
    ),
    "soft_ripened": (
        *_BEGIN,
        *_set(5.0),
        Start(K.HEAL, duration_s=10 * _MIN),
        Start(K.MOULD),
        Start(K.TURN, duration_s=6 * _H),
        Start(K.SALT),
        Start(K.DRY, duration_s=24 * _H),
        *_END,
    ),
    "washed_rind": (
        *_BEGIN,
        *_set(4.0),
        Start(K.HEAL, duration_s=5 * _MIN),
        Start(K.STIR, duration_s=20 * _MIN),
        Start(K.MOULD),
        Start(K.TURN, duration_s=5 * _H),
        Start(K.SALT),
        Start(K.DRY, duration_s=24 * _H),
        *_END,
    ),
    "blue": (
        *_BEGIN,
        *_set(4.0),
        Start(K.HEAL, duration_s=5 * _MIN),
        Start(K.STIR, duration_s=40 * _MIN),
        Start(K.DRAIN),
        Start(K.MOULD),
        Start(K.TURN, duration_s=12 * _H),
        Start(K.SALT),
        Start(K.DRY),
        Start(K.PIERCE),
        *_END,
    ),
    "semi_hard": (
        *_BEGIN,
        *_set(3.0),
        Start(K.HEAL, duration_s=5 * _MIN),
        Start(K.STIR, "wash and stir the curd", 40 * _MIN),
        Start(K.DRAIN),
        Start(K.MOULD),
        Start(K.PRESS, duration_s=4 * _H),
        Start(K.SALT, "lay in brine", 12 * _H),
        Start(K.DRY, duration_s=24 * _H),
        *_END,
    ),
    "hard": (
        *_BEGIN,
        *_set(2.5),
        Start(K.HEAL, duration_s=5 * _MIN),
        Start(K.STIR, "scald and stir the curd", 60 * _MIN),
        Start(K.DRAIN),
        Start(K.MOULD),
        Start(K.PRESS, duration_s=16 * _H),
        Start(K.SALT, "lay in brine", 24 * _H),
        Start(K.DRY, duration_s=48 * _H),
        *_END,
    ),
    "brined": (
        *_BEGIN,
        *_set(4.0),
        Start(K.HEAL, duration_s=10 * _MIN),
        Start(K.DRAIN),
        Start(K.MOULD),
        Start(K.TURN, duration_s=8 * _H),
        Start(K.SALT, "lay in brine"),
        Start(K.RIPENING, "ripen in brine"),
        Start(K.PACK),
    ),
    "stretched": (
        *_BEGIN,
        *_set(3.0),
        Start(K.HEAL, duration_s=5 * _MIN),
        Start(K.STIR, duration_s=20 * _MIN),
        Start(K.DRAIN, "drain, let the curd sour until it stretches", 4 * _H),
        Start(K.STIR, "stretch in hot water"),
        Start(K.MOULD, "shape and cool"),
        Start(K.SALT, "lay in brine"),
        *_END,
    ),
    "whey_cheese": (
        Start(K.WARM, "heat the whey", 60 * _MIN),
        Start(K.DRAIN, "skim and drain"),
        Start(K.SALT),
        Start(K.PACK),
    ),
}
NAMES = {
    "fresh_lactic": "Fresh lactic",
    "soft_ripened": "Soft ripened",
    "washed_rind": "Washed rind",
    "blue": "Blue",
    "semi_hard": "Semi-hard",
    "hard": "Hard",
    "brined": "Brined",
    "stretched": "Stretched curd",
    "whey_cheese": "Whey cheese",
}


def family_of(words: str) -> str:
    """The family that a product's own words name first; "" for none."""
    said = words.lower().replace("-", " ").replace("_", " ")
    found = [(said.find(name.lower().replace("-", " ")), key) for key, name in NAMES.items()]
    there = sorted((place, -len(key), key) for place, key in found if place >= 0)
    return there[0][2] if there else ""
