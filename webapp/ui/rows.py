"""Rows of plain fields in a form, as wtforms' FieldList of FormFields has them, and several times as quick.

A capture has some fifty fields in its rows, and to make each of them anew as a field is a seventh of all the work of
storing a sample. What is read and checked here is a cell; the field behind it is made when it is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from markupsafe import Markup
from werkzeug.datastructures import MultiDict
from wtforms import BooleanField, Field, Form, SelectField
from wtforms.fields.core import UnboundField
from wtforms.utils import unset_value
from wtforms.validators import StopValidation, ValidationError

TEXT, TICK, CHOICE, ROWS = range(4)


@cache
def described(form_class: type[Form]) -> tuple[tuple[str, int, UnboundField], ...]:
    """(name, what it is, how it was declared) of each field of a row. Of a text no filter is known, of a choice none
    but texts: what a row cannot do is refused here, and not left out."""
    found = []
    for name, declared in vars(form_class).items():
        if not isinstance(declared, UnboundField):
            continue
        kind, made = TEXT, declared.field_class
        if issubclass(made, Rows):
            kind = ROWS
        elif issubclass(made, BooleanField):
            kind = TICK
        elif issubclass(made, SelectField):
            kind = CHOICE
        if len(declared.args) > 1 or set(declared.kwargs) - {"validators", "choices", "default", "max_entries"}:
            raise TypeError(f"{form_class.__name__}.{name} asks for what a row does not know")
        found.append((name, kind, declared))
    return tuple(sorted(found, key=lambda field: field[2].creation_counter))


class Cell:
    """One field of a row: what was sent (data), and what is wrong with it. Drawn, it is the field as declared."""

    __slots__ = ("data", "declared", "errors", "id", "kind", "list", "name", "sent")

    def __init__(self, kind: int, declared: UnboundField, name: str, sent: list[str] | None, of: Rows) -> None:
        self.kind, self.declared, self.id, self.name, self.sent, self.list = kind, declared, name, name, sent, of
        self.errors: list[str] = []
        if kind == TICK:
            self.data: object = bool(sent) and sent[0] not in BooleanField.false_values
        else:
            self.data = sent[0] if sent else declared.kwargs.get("default")

    def check(self, row: Row) -> list[str]:
        """Look at what was sent by what the field asks for."""
        self.errors = []
        if self.kind == CHOICE and not any(choice.value == self.data for choice in self.declared.kwargs["choices"]):
            self.errors.append(self.gettext("Not a valid choice."))
        for validator in self.declared.kwargs.get("validators", ()):
            try:
                validator(row, self)
            except StopValidation as problem:
                self.errors += [problem.args[0]] if problem.args and problem.args[0] else []
                break
            except ValidationError as problem:
                self.errors.append(problem.args[0])
        return self.errors

    def gettext(self, text: str) -> str:
        """A message of the library's own, in the page's language."""
        return self.list.gettext(text)

    def ngettext(self, one: str, many: str, number: int) -> str:
        """The same with a number."""
        return self.list.ngettext(one, many, number)

    def __call__(self, **attributes: object) -> Markup:
        field = self.list.bound(self.declared, self.name)
        field.process(None, self.data)
        field.raw_data = self.sent
        return field(**attributes)

    def __html__(self) -> Markup:
        return self()


class Row:
    """One row: its cells by name; `form` is itself, as a FormField's is."""

    def __init__(self, form_class: type[Form], prefix: str, at: str, sent: MultiDict | None, of: Rows) -> None:
        """prefix: what its fields are called from now on; at: what they were called where they come from."""
        self.cells = {}
        for name, kind, declared in described(form_class):
            if kind == ROWS:
                cell = of.bound(declared, prefix + name)
                cell.read(at + name, sent)
            else:
                cell = Cell(kind, declared, prefix + name, None if sent is None else sent.getlist(at + name), of)
            self.cells[name] = cell
        self.__dict__.update(self.cells)

    @property
    def form(self) -> Row:
        """Where a FormField has its fields."""
        return self

    def check(self) -> dict[str, list]:
        """Look at every cell; what is wrong, by name."""
        found = {name: cell.check(self) for name, cell in self.cells.items()}
        return {name: errors for name, errors in found.items() if errors}


class Rows(Field):
    """A list of rows, each of them what a form class declares: texts, ticks, choices, and rows again.

    Like a FieldList it takes the rows that were sent in the order of their numbers, as many as there is room for, and
    numbers them anew without a gap.
    """

    def __init__(self, form_class: type[Form], max_entries: int, **kwargs) -> None:
        super().__init__("", **kwargs)
        self.form_class, self.max_entries = form_class, max_entries
        self.entries: list[Row] = []

    def process(self, formdata: MultiDict | None, data: object = unset_value, extra_filters: object = None) -> None:
        """Read what was sent."""
        self.process_errors, self.object_data = [], None
        self.read(self.name, formdata)

    def read(self, at: str, sent: MultiDict | None) -> None:
        """The rows that were sent under the name ``at``."""
        self.entries = []
        start = f"{at}-"
        numbers = {name[len(start) :].split("-", 1)[0] for name in sent or () if name.startswith(start)}
        for number in sorted({int(number) for number in numbers if number.isdecimal()})[: self.max_entries]:
            self._add(f"{start}{number}-", sent)

    def _add(self, at: str, sent: MultiDict | None) -> Row:
        row = Row(self.form_class, f"{self.name}-{len(self.entries)}-", at, sent, self)
        self.entries.append(row)
        return row

    def bound(self, declared: UnboundField, name: str) -> Field:
        """A field of a row as the library makes it."""
        return declared.bind(form=None, name=name, _meta=self.meta, translations=self._translations)

    def append_entry(self) -> Row:
        """One more row, with nothing in it."""
        if len(self.entries) >= self.max_entries:
            raise ValueError(f"there is no room for more than {self.max_entries} rows")
        return self._add("", None)

    def check(self, _row: Row | None = None) -> list[dict]:
        """Look at every row; [] if nothing is wrong, else what is, row by row."""
        found = [row.check() for row in self.entries]
        self.errors = found if any(found) else []
        return self.errors

    def validate(self, form: Form, extra_validators: object = ()) -> bool:
        """Whether nothing is wrong in any row."""
        return not self.check()

    @property
    def data(self) -> list[dict]:
        """What was sent, by name, row by row."""
        return [{name: cell.data for name, cell in row.cells.items()} for row in self.entries]

    def __iter__(self) -> Iterator[Row]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)

    def __getitem__(self, no: int) -> Row:
        return self.entries[no]
