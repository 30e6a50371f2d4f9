"""A producer's answers to the questions: checked, and completed by what the family suggests."""

from collections.abc import Mapping

from haccp.plan.library.checking import NEEDED_QUESTIONS, is_an_answer, offered
from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.library import Library
from haccp.science.errors import InputError


def read_answers(library: Library, given: Mapping[str, Answer]) -> dict[str, Answer]:
    """Every question that applies, with its answer: given, else the family's typical one, else the default.

    InputError for a question that does not exist, an answer that is not offered, and a needed one that is missing.
    """
    for name in given:
        if name not in library.questions:
            known = ", ".join(library.questions)
            raise InputError(f"There is no question “{name}”.", remedy=f"The questions are {known}.")
    for name in NEEDED_QUESTIONS:
        if name not in given:
            question = library.questions[name]
            raise InputError(f"“{question.asks}” has no answer.", remedy=f"Choose {offered(question)}.")
    for name, answer in given.items():
        question = library.questions[name]
        if not is_an_answer(question, answer):
            raise InputError(f"“{answer}” does not answer “{question.asks}”", remedy=f"Choose {offered(question)}.")
    suggested: dict[str, Answer | None] = {**library.families[str(given["family"])].typical, **given}
    complete: dict[str, Answer] = {}
    for question in library.questions.values():
        chosen = suggested.get(question.id, question.default)
        if chosen is not None and applies(question.when, {**given, **complete}):
            complete[question.id] = chosen
    return complete
