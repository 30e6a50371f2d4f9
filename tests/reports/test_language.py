"""A pack in the reader's language: every word of its own has its translation, and nothing that was sealed changes."""

import ast
import gettext
import re
from pathlib import Path
from uuid import uuid4

import pytest
from django.utils import translation

import haccp.reports
from haccp.premises.errors import ActionError
from haccp.reports import actions
from haccp.reports.gather.choice import Choice
from haccp.reports.languages import LANGUAGES
from tests.dairy import Dairy
from tests.reports import history, reading
from tests.reports.conftest import ASKED_AT, FROM, TO, MakePack

ROOM = Path(haccp.reports.__file__).parent
CATALOGUE = ROOM / "locale" / "fr" / "LC_MESSAGES"
SAID_BY = {"own", "gettext", "Column"}


def said_in_the_source() -> set[str]:
    """Every constant that is handed to what says it in the paper's language."""
    found: set[str] = set()
    for folder in ("layout", "draw"):
        for file in (ROOM / folder).glob("*.py"):
            for node in ast.walk(ast.parse(file.read_text())):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAID_BY:
                    first = node.args[0] if node.args else None
                    if isinstance(first, ast.Constant) and isinstance(first.value, str) and first.value:
                        found.add(first.value)
    return found


def french() -> gettext.GNUTranslations:
    with (CATALOGUE / "django.mo").open("rb") as compiled:
        return gettext.GNUTranslations(compiled)


def test_every_word_of_the_papers_own_has_its_french_with_the_same_places_for_values() -> None:
    words, catalogue = said_in_the_source(), french()
    assert len(words) > 150
    known = catalogue._catalog  # type: ignore[attr-defined]
    assert {one for one in words if one not in known} == set()
    for original, translated in known.items():
        assert set(re.findall(r"{\w+}", original)) == set(re.findall(r"{\w+}", translated)), original


def test_the_compiled_catalogue_says_what_the_readable_one_says() -> None:
    text = (CATALOGUE / "django.po").read_text()
    pairs = re.findall(r'^msgid "(.+)"\nmsgstr "(.+)"$', text, flags=re.MULTILINE)
    assert len(pairs) > 150
    catalogue = french()
    for original, translated in pairs:
        assert catalogue.gettext(original.replace('\\"', '"')) == translated.replace('\\"', '"')


def test_a_pack_in_french_says_its_own_words_in_french_and_what_was_typed_as_typed(
    dairy: Dairy, make_pack: MakePack
) -> None:
    history.room_round(dairy, history.FIRST_DAY, top="15.4", note="The door had been left open.")
    pack = make_pack(dairy.owner, language="fr")
    text = " ".join(reading.text(pack).split())
    for said in (
        "Enregistrements de sécurité sanitaire",
        "Sommaire",
        "Ce que montre cette période",
        "1 mars 2026 – 10 mars 2026",
        "✗ dépassé",
        "Note : The door had been left open.",
        "page 1 sur",
        "Comment vérifier ce dossier",
    ):
        assert said in text, said
    for left in ("Contents", "What this period shows", "Records of critical", "page 1 of", "Entry", "Signed off"):
        assert left not in text, left
    assert reading.reader(pack).trailer["/Root"]["/Lang"] == "fr"
    assert translation.get_language() == "en-gb"


def test_a_language_that_there_is_not_is_refused(dairy: Dairy) -> None:
    assert "xx" not in dict(LANGUAGES)
    with pytest.raises(ActionError, match="choose one from the list"):
        actions.pack_request(
            scope=dairy.owner, pack_id=uuid4(), period_from=FROM, period_to=TO, choice=Choice(), language="xx",
            now=ASKED_AT,
        )  # fmt: skip
