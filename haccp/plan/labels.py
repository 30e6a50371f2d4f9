"""How parts and choices are named where somebody chooses among them."""

from haccp.plan.document import Part, PlanDocument, vocabulary
from haccp.plan.document.parts import (
    Check,
    ControlMeasure,
    CriticalLimit,
    DecisionAnswers,
    Hazard,
    Link,
    Material,
    Measure,
    Validation,
)
from haccp.science.decision_tree import TREES

CHOICE_WORDS: dict[str, str] = {
    **vocabulary.STEP_KINDS,
    **vocabulary.LINK_KINDS,
    **vocabulary.DIRECTIONS,
    **vocabulary.MATERIAL_KINDS,
    **vocabulary.CONTROL_POINT_KINDS,
    **vocabulary.VALIDATION_KINDS,
    **vocabulary.RESTS,
    **vocabulary.IF_MISSED,
    **vocabulary.DOCUMENT_KINDS,
    **vocabulary.TRIGGER_KINDS,
    **{version: tree.title for version, tree in TREES.items()},
    "": "none",
    "premises": "the whole dairy",
    "place": "one place",
    "batch": "each batch",
    "recorder": "temperature recorder",
    "ph_meter": "pH meter",
    "number": "a number",
    "answer": "one of several answers",
    "text": "words",
    "photo": "a photograph",
    "scan": "the code of the place or batch, scanned",
    "recorder_file": "a recorder's file",
    "reading": "each reading by itself",
    "holding": "held without a break for a time",
    "elapsed": "reached within a time of an event",
}


def choice_word(value: str) -> str:
    return CHOICE_WORDS.get(value, value.replace("_", " "))


def label(part: Part, document: PlanDocument) -> str:
    """The title with what tells it from others of the same title."""
    match part:
        case Hazard() | Material():
            return f"{part.title} at {document.title_of(part.step)}"
        case Link():
            what = f": {part.label}" if part.label else ""
            return f"{document.title_of(part.start)} → {document.title_of(part.end)} ({choice_word(part.kind)}{what})"
        case CriticalLimit() | Check() | Validation():
            return f"{part.title} ({_code(document, part.control_point)})"
        case Measure():
            return f"{part.title} at {document.title_of(part.check)}"
        case ControlMeasure() | DecisionAnswers():
            return f"{document.title_of(part.hazard)}: {part.title}"
        case _:
            return part.title


def _code(document: PlanDocument, key: str) -> str:
    return str(getattr(document.by_key.get(key), "code", ""))
