"""Every path of the published decision trees."""

import pytest

from haccp.science.decision_tree import TREES, Outcome, determine
from haccp.science.errors import InputError

YES, NO = True, False

# CXC 1-1969 (2022), Annex IV, figure 1; questions 3 and 4 at second hand.
CODEX_2022 = [
    ({"q1": YES}, Outcome.PREREQUISITE),
    ({"q1": NO, "q2": NO}, Outcome.NOT_HERE),
    ({"q1": NO, "q2": YES, "q3": YES}, Outcome.LATER_STEP),
    ({"q1": NO, "q2": YES, "q3": NO, "q4": YES}, Outcome.CCP),
    ({"q1": NO, "q2": YES, "q3": NO, "q4": NO}, Outcome.MODIFY),
]
# CAC/RCP 1-1969 Rev. 3 (1997), diagram 2, as the Canadian Food Inspection Agency describes it.
CODEX_1997 = [
    ({"q1": NO, "q1b": YES}, Outcome.MODIFY),
    ({"q1": NO, "q1b": NO}, Outcome.NOT_HERE),
    ({"q1": YES, "q2": YES}, Outcome.CCP),
    ({"q1": YES, "q2": NO, "q3": NO}, Outcome.NOT_HERE),
    ({"q1": YES, "q2": NO, "q3": YES, "q4": YES}, Outcome.LATER_STEP),
    ({"q1": YES, "q2": NO, "q3": YES, "q4": NO}, Outcome.CCP),
]
PATHS = [("codex_2022", *path) for path in CODEX_2022] + [("codex_1997", *path) for path in CODEX_1997]


def leaves(version: str) -> int:
    return sum(isinstance(end, Outcome) for question in TREES[version].questions for end in (question.yes, question.no))


@pytest.mark.parametrize(("version", "answers", "outcome"), PATHS)
def test_every_path_ends_where_the_published_tree_ends(version: str, answers: dict, outcome: Outcome) -> None:
    found = determine(version, answers)

    assert found.outcome is outcome
    assert found.path == tuple(answers.items())
    assert found.is_ccp == (outcome is Outcome.CCP)
    assert found.next_question is None


@pytest.mark.parametrize("version", TREES)
def test_no_path_of_a_tree_goes_untested(version: str) -> None:
    assert len([path for path in PATHS if path[0] == version]) == leaves(version)


@pytest.mark.parametrize(("version", "answers", "outcome"), PATHS)
def test_every_path_cut_short_asks_the_next_question(version: str, answers: dict, outcome: Outcome) -> None:
    for length in range(len(answers)):
        found = determine(version, dict(list(answers.items())[:length]))

        assert found.outcome is Outcome.OPEN
        assert found.next_question is not None
        assert found.next_question.key == list(answers)[length]


def test_an_answer_that_the_path_does_not_ask_for_is_refused() -> None:
    with pytest.raises(InputError, match="does not ask q2 after"):
        determine("codex_2022", {"q1": YES, "q2": NO})


def test_an_unknown_tree_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(InputError, match="codex_2022, codex_1997"):
        determine("codex_2030", {})
