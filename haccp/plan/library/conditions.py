"""When an entry applies: answers laid against conditions, which are data."""

from collections.abc import Mapping

Answer = str | bool | float
When = Mapping[str, "OneOf | InRange"]


class OneOf(tuple[Answer, ...]):
    """Answers that meet the condition."""

    __slots__ = ()

    def holds(self, answer: Answer | None) -> bool:
        return any(answer == accepted and isinstance(answer, type(accepted)) for accepted in self)


class InRange(tuple[float | None, float | None]):
    """at_least (inclusive), below (exclusive); None where it is open."""

    __slots__ = ()

    def holds(self, answer: Answer | None) -> bool:
        if isinstance(answer, bool) or not isinstance(answer, int | float):
            return False
        at_least, below = self
        return (at_least is None or answer >= at_least) and (below is None or answer < below)


def read_when(raw: Mapping[str, object] | None) -> dict[str, OneOf | InRange]:
    """The conditions of an entry that the schema has let pass."""
    conditions: dict[str, OneOf | InRange] = {}
    for question, wanted in (raw or {}).items():
        if isinstance(wanted, Mapping):
            conditions[question] = InRange((wanted.get("at_least"), wanted.get("below")))
        elif isinstance(wanted, list):
            conditions[question] = OneOf(wanted)
    return conditions


def applies(when: When, answers: Mapping[str, Answer]) -> bool:
    """Whether every condition holds; a question that was not answered meets none."""
    return all(wanted.holds(answers.get(question)) for question, wanted in when.items())
