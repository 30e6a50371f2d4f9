"""Prerequisite programmes."""

from collections.abc import Iterator

from haccp.plan.document.vocabulary import PROGRAMMES
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule

CHAPTER_ONE = "CXC 1-1969 (2022), chapter one, sections 2 to 9"
STEMS = {
    "water": ("water",),
    "cleaning": ("clean", "sanit"),
    "pests": ("pest",),
    "personnel": ("personnel", "personal", "health", "hygiene of people"),
    "training": ("train",),
    "suppliers": ("supplier", "milk acceptance"),
    "allergens": ("allergen",),
    "calibration": ("calibrat", "thermometer"),
    "maintenance": ("mainten",),
    "waste": ("waste",),
    "transport": ("transport", "dispatch"),
}


@rule("programme.missing", CHAPTER_ONE, Severity.WARNS, remedy="Add the programme with its checks.")
def missing(plan: Examined) -> Iterator[Found]:
    texts = [f"{point.programme} {point.name}".lower() for point in plan.programmes]
    for programme, words in PROGRAMMES.items():
        if not any(stem in text for text in texts for stem in STEMS[programme]):
            yield Found(None, f"There is no prerequisite programme for {words}.")


@rule("programme.unchecked", CHAPTER_ONE, Severity.WARNS, remedy="Add a check, however rare.")
def unchecked(plan: Examined) -> Iterator[Found]:
    for point in plan.programmes:
        if point.key not in plan.checks_of:
            yield Found(point, f"No check shows that {point.title} is kept.")


@rule("programme.no_corrective_action", CHAPTER_ONE, Severity.WARNS, remedy="Say what is done when it fails.")
def no_corrective_action(plan: Examined) -> Iterator[Found]:
    for point in plan.programmes:
        if not point.corrective_action.strip():
            yield Found(point, f"It is not said what is done when {point.title} fails.")
