"""Taking in a file of older batches, step by step: the file, its columns, its numbers, a look at it, and only then."""

from __future__ import annotations

import uuid

from flask import Response, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.exchange import import_choices, import_file, import_page
from webapp.exchange import import_words as words
from webapp.exchange.blueprint import exchange
from webapp.exchange.import_cells import MOST_BYTES, Refused
from webapp.exchange.import_choices import Chosen
from webapp.store import imports
from webapp.store.imports import Changed, Draft, NewRun, TooMany
from webapp.ui.access import open_to, who

FORM_BESIDES = 64 * 1024
"""Bytes of a form besides its file."""


@exchange.route("/import", methods=["GET", "POST"])
@open_to("lead", most_bytes=MOST_BYTES + FORM_BESIDES)
def take_in():
    """Choose a file; what was begun, what was taken in."""
    db = get_db()
    imports.forget_old(db, g.now)
    if request.method == "GET":
        return start_page()
    file = request.files.get("file")
    if file is None or not file.filename:
        return start_page(words.file_fault("no_file", {})), 400
    try:
        return redirect(url_for("exchange.import_columns", draft_id=begin(file)), code=303)
    except Refused as problem:
        return start_page(words.file_fault(problem.code, problem.facts), file.filename), 400
    except TooMany:
        return start_page(_("There are too many files begun already. Take one in, or give it up.")), 400


def start_page(message: str = "", name: str = "") -> str:
    """The first page, with what is wrong with a file."""
    db = get_db()
    return render_template(
        "exchange/import_start.html", problems=[("file-field", message)] if message else [],
        name=import_file.clean_name(name) if name else "", drafts=imports.list_drafts(db), runs=imports.list_runs(db),
    )  # fmt: skip


def begin(file) -> str:
    """Keep the file as a draft; its id. Refused, TooMany: it is not kept."""
    db, opened, draft_id = get_db(), import_file.open_file(file.stream.read(MOST_BYTES + 1)), str(uuid.uuid4())
    chosen = {"reading": opened.reading}
    if opened.reading.get("sheet", 0) is not None:
        chosen = import_choices.looked_at(db, opened.content, opened.reading)
    imports.add_draft(db, draft_id, import_file.clean_name(file.filename), opened.content, chosen, who(), g.now)
    return draft_id


@exchange.get("/import/<uuid:draft_id>")
@open_to("lead")
def import_run(draft_id):
    """A file that was taken in; one that was begun goes on where it can."""
    run = imports.find_run(get_db(), str(draft_id))
    if run is None:
        imports.get_draft(get_db(), str(draft_id))
        return redirect(url_for("exchange.import_columns", draft_id=draft_id), code=303)
    return render_template("exchange/import_run.html", run=run, targets=words.target_words())


@exchange.route("/import/<uuid:draft_id>/columns", methods=["GET", "POST"])
@open_to("lead")
def import_columns(draft_id):
    """How the file is read, and what stands in which column."""
    draft = imports.get_draft(get_db(), str(draft_id))
    if request.method == "GET":
        return columns_page(draft)
    if "read" in request.form:
        return read_another_way(draft)
    problems = must_say(draft)
    if "columns" in draft.choices:
        problems += import_choices.take_columns(Chosen(draft.choices), request.form)
        imports.keep_choices(get_db(), draft.id, draft.choices)
    if problems:
        return columns_page(draft, import_page.said(problems)), 400
    return redirect(url_for("exchange.import_numbers", draft_id=draft_id), code=303)


def must_say(draft: Draft) -> import_choices.Problems:
    """What nobody has said yet of how the file is read, and nothing in it tells."""
    reading = draft.choices["reading"]
    if reading["what"] == "workbook":
        return [("sheet", "no_sheet")] if reading["sheet"] is None else []
    missing = [] if reading["encoding_sure"] else [("encoding", "no_encoding")]
    return missing if reading["delimiter_sure"] else [*missing, ("delimiter", "no_delimiter")]


def columns_page(draft: Draft, problems: list[tuple[str, str]] = ()) -> str:
    """The page of the columns."""
    chosen = Chosen(draft.choices)
    known = "columns" in draft.choices
    return render_template(
        "exchange/import_columns.html", draft=draft, problems=problems, reading=draft.choices["reading"],
        ways=import_page.ways_of_reading(draft), must=must_say(draft), known=known,
        columns=import_page.column_views(chosen) if known else [], targets=words.target_words(),
    )  # fmt: skip


def read_another_way(draft: Draft):
    """Read the file as was said; everything is proposed anew."""
    reading, problems = said_of_reading(draft)
    if not problems:
        try:
            if reading["header"] is None:
                reading["header"] = import_file.first_row(draft.content, reading)[0]
            imports.keep_choices(get_db(), draft.id, import_choices.looked_at(get_db(), draft.content, reading))
            return redirect(url_for("exchange.import_columns", draft_id=draft.id), code=303)
        except Refused as problem:
            problems = [("header-field", words.file_fault(problem.code, problem.facts))]
    return columns_page(draft, problems), 400


def said_of_reading(draft: Draft) -> tuple[dict, list[tuple[str, str]]]:
    """(how the file is to be read, what is wrong with that)."""
    form, reading = request.form, dict(draft.choices["reading"])
    problems, header = [], form.get("header", "").strip()
    if reading["what"] == "workbook":
        sheet = form.get("sheet", "")
        if sheet not in {str(no) for no in range(len(reading["sheets"]))}:
            problems.append(("sheet", "no_sheet"))
        else:
            header = header if reading["sheet"] == int(sheet) else ""
            reading["sheet"] = int(sheet)
    else:
        for name, possible in (("encoding", reading["possible"]), ("delimiter", words.delimiter_words())):
            if form.get(name) not in possible:
                problems.append((name, f"no_{name}"))
            else:
                reading |= {name: form[name], f"{name}_sure": True}
    if header and not (header.isascii() and header.isdigit() and len(header) < 7):
        problems.append(("header", "no_header"))
    else:
        reading["header"] = int(header) if header else None
    return reading, import_page.said(problems)


@exchange.route("/import/<uuid:draft_id>/numbers", methods=["GET", "POST"])
@open_to("lead")
def import_numbers(draft_id):
    """How the columns are written, and how the numbers were read."""
    db, draft = get_db(), imports.get_draft(get_db(), str(draft_id))
    if step := step_missing(draft, but_numbers=True):
        return step
    chosen, problems = Chosen(draft.choices), []
    if request.method == "POST":
        import_choices.take_numbers(chosen, request.form)
        imports.keep_choices(db, draft.id, draft.choices)
        problems = import_choices.number_problems(chosen, db)
        if not problems:
            return redirect(url_for("exchange.import_preview", draft_id=draft_id), code=303)
    return render_template(
        "exchange/import_numbers.html", draft=draft, chosen=chosen, problems=import_page.said(problems),
        targets=words.target_words(), **import_page.numbers_page(chosen, db),
    ), 400 if problems else 200  # fmt: skip


def step_missing(draft: Draft, but_numbers: bool = False):
    """The step that has to be done first; None: none."""
    chosen = Chosen(draft.choices)
    if must_say(draft) or "columns" not in draft.choices or import_choices.column_problems(chosen):
        return redirect(url_for("exchange.import_columns", draft_id=draft.id), code=303)
    if not but_numbers and import_choices.number_problems(chosen, get_db()):
        return redirect(url_for("exchange.import_numbers", draft_id=draft.id), code=303)
    return None


@exchange.get("/import/<uuid:draft_id>/preview")
@open_to("lead")
def import_preview(draft_id):
    """What would be stored, what is known, what is refused and why."""
    draft = imports.get_draft(get_db(), str(draft_id))
    return step_missing(draft) or preview_page(draft, request.args.get("page", 1, int))


def preview_page(draft: Draft, page: int = 1, changed: bool = False):
    """The page, or why the file cannot be read to its end."""
    db, chosen = get_db(), Chosen(draft.choices)
    try:
        found = import_page.preview(draft, chosen, db, g.site.time_zone, g.now, max(1, page))
    except Refused as problem:
        return columns_page(draft, [("header-field", words.file_fault(problem.code, problem.facts))]), 400
    return render_template(
        "exchange/import_preview.html", draft=draft, found=found, changed=changed, kinds=words.kind_words(),
        steps=import_choices.steps_of(chosen, db), averages={k: chosen.average(k) for k in chosen.kinds()},
        products=import_choices.product_names(db).names, machines=import_choices.machine_names(db).names,
    )  # fmt: skip


@exchange.get("/import/<uuid:draft_id>/refused")
@open_to("lead")
def import_refused(draft_id):
    """The refused rows, as a file."""
    db, draft = get_db(), imports.get_draft(get_db(), str(draft_id))
    if step := step_missing(draft):
        return step
    content = import_page.refused_rows(draft, Chosen(draft.choices), db, g.site.time_zone, g.now)
    return Response(
        content, content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="refused-rows.csv"'},
    )  # fmt: skip


@exchange.post("/import/<uuid:draft_id>/take")
@open_to("lead", confirmed=True)
def import_take(draft_id):
    """Take the file in, as a whole."""
    db = get_db()
    if imports.find_run(db, str(draft_id)) is None:
        draft = imports.get_draft(db, str(draft_id))
        if step := step_missing(draft):
            return step
        chosen, reading = Chosen(draft.choices), draft.choices["reading"]
        run = NewRun(draft.id, draft.file_name, reading["sha256"], import_choices.kept(chosen),
                     import_choices.ways(chosen))  # fmt: skip
        rows = (new for _row, new, *_rest in import_page.judged(draft, chosen, db, g.site.time_zone, g.now))
        shown = imports.Counts(*(request.form.get(name, -1, int) for name in imports.Counts._fields))
        try:
            imports.take_in(db, run, rows, shown, who(), g.now)
        except Changed:
            return preview_page(draft, changed=True), 409
    return redirect(url_for("exchange.import_run", draft_id=draft_id), code=303)


@exchange.post("/import/<uuid:draft_id>/give-up")
@open_to("lead")
def import_give_up(draft_id):
    """Forget a file that was begun; nothing of it was stored."""
    imports.give_up(get_db(), str(draft_id))
    return redirect(url_for("exchange.take_in"), code=303)
