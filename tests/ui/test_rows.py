"""Rows of plain fields: what wtforms' own FieldList of FormFields makes of the same posts is the reference."""

from __future__ import annotations

import random

import pytest
from werkzeug.datastructures import MultiDict
from wtforms import BooleanField, FieldList, Form, FormField, HiddenField, SelectField, StringField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.bench.forms import FillForm, ReadingForm, StepForm
from webapp.ui.rows import Rows, described

CHOICES = [SelectChoice("", "counts"), SelectChoice("moved", "moved")]


class Reading(Form):
    """A text, a choice and a tick."""

    value = StringField("Reading", validators=[Length(max=5, message="long"), Length(max=3)])
    void = SelectField("Counts?", choices=CHOICES, default="")
    sure = BooleanField("Sure")


class Note(Form):
    """A text that is not shown, and one that is."""

    at = HiddenField("")
    note = StringField("Note", validators=[Length(max=4)])


class Ours(Form):
    """Rows, and rows of rows."""

    class Fill(Form):
        """The readings of one fill."""

        readings = Rows(Reading, max_entries=3)

    steps = Rows(Note, max_entries=4)
    fills = Rows(Fill, max_entries=2)


class Theirs(Form):
    """The same as the library has it."""

    class Fill(Form):
        """The readings of one fill."""

        readings = FieldList(FormField(Reading), max_entries=3)

    steps = FieldList(FormField(Note), max_entries=4)
    fills = FieldList(FormField(Fill), max_entries=2)


def post(seed: int) -> MultiDict:
    """What a form may send, and what only somebody else would."""
    chance, sent = random.Random(seed), MultiDict({"other": "1"})
    texts = ("", "56.1", " 56,1 ", "toolong", "y", "false", "moved", "nothing", '<b a="1">')
    for _field in range(chance.randrange(25)):
        row, inner = (chance.choice(("0", "1", "2", "3", "7", "01", "x", "")) for _no in range(2))
        name = chance.choice((
            f"steps-{row}-at", f"steps-{row}-note", f"steps-{row}", f"fills-{row}-readings-{inner}-value",
            f"fills-{row}-readings-{inner}-void", f"fills-{row}-readings-{inner}-sure", f"fills-{row}-other",
        ))  # fmt: skip
        sent.add(name, chance.choice(texts))
    return sent


def cells(form: Form) -> list[tuple]:
    """Every field of every row: name, id, what it has, what is wrong, and how it is drawn."""
    rows = [entry.form for entry in form.steps]
    rows += [entry.form for fill in form.fills for entry in fill.form.readings]
    names = ("at", "note", "value", "void", "sure")
    named = [getattr(row, name) for row in rows for name in names if hasattr(row, name)]
    return [(cell.name, cell.id, cell.data, list(cell.errors), cell(), cell(class_="num")) for cell in named]


@pytest.mark.parametrize("seed", range(60))
def test_it_makes_of_a_post_what_the_library_does(seed):
    ours, theirs = Ours(formdata=post(seed)), Theirs(formdata=post(seed))
    assert ours.validate() == theirs.validate()
    assert ours.errors == theirs.errors
    assert ours.data == theirs.data
    for form in (ours, theirs):
        while len(form.fills) < 2:
            form.fills.append_entry()
        for fill in form.fills:
            while len(fill.form.readings) < 3:
                fill.form.readings.append_entry()
    assert cells(ours) == cells(theirs)


def test_it_has_no_room_for_more_than_it_says():
    form = Ours(formdata=MultiDict({f"steps-{no}-note": "a" for no in range(9)}))
    assert len(form.steps) == 4
    with pytest.raises(ValueError, match="no room"):
        form.steps.append_entry()


def test_it_refuses_what_a_row_does_not_know():
    class Filtered(Form):
        note = StringField("Note", filters=[str.strip])

    with pytest.raises(TypeError, match=r"Filtered\.note"):
        described(Filtered)
    assert all(described(form) for form in (StepForm, ReadingForm, FillForm))
