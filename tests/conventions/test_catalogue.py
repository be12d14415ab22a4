"""The catalogue that translators work from holds every text, and every language follows it."""

from __future__ import annotations

from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from webapp.translations.update import HERE, POT, extracted
from webapp.ui.default_methods import default_texts

REMEDY = "run: .venv/bin/python webapp/translations/update.py"
LANGUAGES = sorted(HERE.glob("*/LC_MESSAGES/messages.po"))


def ids(path: Path) -> set:
    """The texts of a catalogue."""
    with open(path, "rb") as file:
        return {message.id for message in read_po(file) if message.id}


@pytest.fixture(scope="module")
def wanted() -> set:
    """The texts that the code and the templates hold now."""
    return {message.id for message in extracted() if message.id}


def test_it_holds_every_text_and_no_other(wanted):
    assert ids(POT) == wanted, REMEDY


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.parent.parent.name)
def test_every_language_has_the_same_texts(wanted, path):
    assert ids(path) == wanted, REMEDY


def test_english_is_among_the_languages():
    assert [path.parent.parent.name for path in LANGUAGES].count("en") == 1


def test_it_gathers_from_code_templates_and_the_stored_methods(wanted):
    """One known text of each way in which a text can be marked."""
    assert default_texts() <= wanted  # N_ in Python
    assert "Skip to the content" in wanted  # a template
    assert "Batch code" in wanted  # a form's label
    assert any(isinstance(text, tuple) for text in wanted)  # one with a plural
