"""In another language no English word is left on a page, apart from what people have typed.

The language is made up on the spot: every text in ⟦brackets⟧. Whatever stands outside them was never given to
gettext. It goes by the name of a real language, since dates need one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from flask import Flask

from tests.conftest import COMPILED
from tests.store import worked
from tests.support import blending, comparing, importing, studying
from tests.support.texts import WORD, Shown
from webapp import create_app
from webapp.config import Config
from webapp.store import decisions
from webapp.store.export_sets import SETS
from webapp.translations.update import extracted
from webapp.ui.default_methods import default_texts

LANGUAGE = "eo"
BRACKETED = re.compile(r"⟦[^⟦⟧]*⟧")
# What stands on a page in every language: addresses, codes, the name, time zones as they are called everywhere, the
# sign for the kilogram, ids and hashes.
EVERYWHERE = re.compile(
    r"https?://\S+|\b[0-9A-Z]{4}(?:-[0-9A-Z]{4})+\b|"
    r"\bDrumside\b|\b[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_+-]*)+\b|\bUTC\b|\bkg\b|"
    r"\b[0-9a-f]{8}(?:-[0-9a-f]+)*\b|\b[0-9a-f]{64}\b"
)
# What people type.
TYPED = {
    "person": ("name",), "tablet": ("name",), "site": ("name",), "scale": ("name",), "machine": ("name",),
    "meter": ("name",), "plate": ("name", "reason"), "grinder": ("name",), "grinder_setting": ("name",),
    "method": ("name",), "method_version": ("reason",), "product": ("name", "short"),
    "target_version": ("reason",), "batch": ("code", "lot", "note"), "sample": ("note",),
    "decision": ("reason",), "correction": ("reason",), "sample_move": ("reason",), "batch_correction": ("reason",),
    "comparison": ("name",), "comparison_coffee": ("name", "code"),
    "comparison_outcome": ("reason",), "precision_study": ("name", "coffee"), "precision_outcome": ("reason",),
    "trend_baseline": ("reason",), "trend_rules": ("reason",), "signal_note": ("note", "done"),
    "blend": ("reason",), "import_run": ("file_name",), "import_draft": ("file_name",), "api_token": ("name",),
}  # fmt: skip


# Where the columns of an export are explained.
EXPLAINED = "/export/columns"


@pytest.fixture(scope="session")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up language, as the app reads it."""
    texts = Catalog(locale=LANGUAGE)
    for message in extracted():
        if message.id:
            many = isinstance(message.id, tuple)
            said = [f"⟦{text}⟧" for text in message.id] if many else f"⟦{message.id}⟧"
            texts.add(message.id, said, context=message.context)
    folder = tmp_path_factory.mktemp("translations")
    (folder / LANGUAGE / "LC_MESSAGES").mkdir(parents=True)
    with open(folder / LANGUAGE / "LC_MESSAGES" / "messages.mo", "wb") as mo:
        write_mo(mo, texts)
    return folder


@pytest.fixture
def app(path: Path, catalogue: Path) -> Flask:
    """The app in that language."""
    made = create_app(Config(database=path, secret_key="tests only: not a secret, but long enough", testing=True))
    made.config["WTF_CSRF_ENABLED"] = False
    made.jinja_env.bytecode_cache = COMPILED
    babel = made.extensions["babel"]
    babel.locale_selector = lambda: LANGUAGE
    babel.translation_directories = [str(catalogue)]
    return made


@pytest.fixture
def known(app, bench) -> dict[str, str]:
    """Batches in every state, and a value for each name in an address."""
    batches = {name: bench.batch(name, at=bench.now - timedelta(minutes=5 + no)) for no, name in enumerate(
        ("B-in", "B-edge", "B-dark", "B-half", "B-none", "B-twice")
    )}  # fmt: skip
    for name, whole in (("B-in", 56.0), ("B-edge", 57.4), ("B-dark", 52.0), ("B-half", 56.1), ("B-twice", 56.2)):
        at = bench.now - timedelta(minutes=1)
        sample = bench.sample(batches[name].id, "whole", [whole, whole + 0.1, whole], at=at)
        if name not in ("B-half",):
            bench.sample(batches[name].id, "ground", [whole + 5, whole + 5.1, whole + 5], role="trainee")
    bench.sample(batches["B-twice"].id, "whole", [55.0, 57.9, 53.1, 56.0], [59.0, 59.1, 59.0])
    decisions.add_decision(bench.db, batches["B-dark"].id[:-4] + "ffff", batches["B-dark"].id, "hold", "X-1",
                           bench.who("roaster"), bench.now)  # fmt: skip
    failed = bench.check([61.0, 61.1, 61.0], [60.0, 60.0, 60.1])
    passed = bench.check([60.1, 60.0, 60.0], at=bench.now + timedelta(seconds=1))
    begun, moving, concluded = comparing.plan(bench, 10), comparing.plan(bench, bound=50), worked.compare(bench)
    dark_to_light = [44 + 2 * no for no in range(12)]
    read, settled = studying.plan(bench), worked.study_precision(bench)
    for _twice in range(2):
        studying.read(bench, read, 2, [61.1, 61.2])
    comparing.read_all(bench, moving, dark_to_light, [value + 2 + value % 4 / 20 for value in dark_to_light])
    reading, signed = comparing.plan_people(bench, 6), comparing.plan_people(bench, 6, "ground", name="X-2")
    for there in (reading, signed):
        for no in range(1, 7):
            comparing.read_for_sign_off(bench, there, no, 50 + no, 50.2 + no)
    comparing.sign_off(bench, signed)
    # Their signals are those of notes: nothing fires in so few batches.
    worked.watch(bench, batches["B-in"].id, batches["B-dark"].id)
    worked.correct(bench)
    put_right = list(bench.db.query("SELECT from_batch_id, to_batch_id FROM sample_move"))[0].values()
    carried_out = blending.one_of_each(bench)
    on_trial = blending.stored(bench, {batches[name].id: 900 for name in ("B-dark", "B-in")})
    with app.test_request_context():
        files = [importing.begin(bench, *importing.ROWS, *importing.BAD), importing.take_in(bench)]
    return {
        "blend_id": [carried_out.id, on_trial.id], "draft_id": files,
        "toward": ["lighter", "darker"], "only": ["new-batch", "capture"],
        "study_id": [read.id, settled.study_id, studying.with_everything(bench).id],
        "sign_off_id": [reading.id, signed.id], "change": ["renew", "withdraw"],
        "check_id": [failed.id, passed.id],
        "comparison_id": [begun.id, moving.id, concluded.comparison_id, reading.id, signed.id],
        "side": ["a", "b", "b", "a", "b"],
        "which": ["meters", "grinders", "methods"],
        "batch_id": [*(batch.id for batch in batches.values()), *put_right], "kind": ["whole", "ground"],
        "what": ["release", "hold", "remeasure", "reject", "concession"], "sample_id": [sample.id],
        "fill_no": ["1"], "reading_no": ["1"],
        "day": [batches["B-in"].day, "2020-02-29"], "month": [batches["B-in"].day[:7], "2020-02"],
        "no": ["1"], "grinder_id": [bench.grinder],
        "machine_id": [bench.machine], "meter_id": [bench.meter, bench.flipped_meter], "product_id": [bench.product],
        "person_id": list(bench.people.values()), "method_id": list(bench.methods.values()),
        "tablet_id": [bench.tablet], "claim_id": [bench.tablet], "key_id": [worked.give_key(bench)],
    }  # fmt: skip


RECORDS = {"machine": "machine_id", "meter": "meter_id", "grinder": "grinder_id", "method": "method_id"}


def addresses(app: Flask, known: dict, method: str) -> Iterator[str]:
    """Every page of the app that takes this method, with known values in its address."""
    with app.test_request_context():
        for rule in sorted(app.url_map.iter_rules(), key=str):
            if method not in rule.methods or rule.endpoint in ("static", "earlier_static", "manifest", "worker"):
                continue
            if "record_id" in rule.arguments:
                for kind, ids in RECORDS.items():
                    yield rule.build({"kind": kind, "record_id": known[ids][0]})[1]
                continue
            missing = rule.arguments - set(known)
            assert not missing, f"{rule}: say in `known` what can stand for {missing}"
            longest = max((len(known[name]) for name in rule.arguments), default=1)
            for no in range(longest):
                yield rule.build({name: known[name][no % len(known[name])] for name in rule.arguments})[1]


def typed_texts(db) -> list[str]:
    """Everything that people have typed; texts that came with the app are not among them."""
    texts = {
        row[column]
        for table, columns in TYPED.items()
        for column in columns
        for row in db.query(f"SELECT {column} FROM {table}")
    }
    return list(texts - default_texts())


def calendar_words() -> list[str]:
    """Names of months and days in the language, as its dates are written."""
    locale = Locale.parse(LANGUAGE)
    return [
        word
        for names in (locale.months, locale.days)
        for use in ("format", "stand-alone")
        for width in ("wide", "abbreviated", "short")
        for word in names.get(use, {}).get(width, {}).values()
    ]


def any_of(allowed: list[str]) -> re.Pattern:
    """Any of these texts, as words of their own; of two that begin alike, the longer one."""
    longest_first = sorted({text for text in allowed if text}, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first)) or '(?!)'})(?!\w)")


def allowed_at(db) -> Callable[[str], re.Pattern]:
    """allowed_at(db)(address): what may stand there as it is.

    The texts that came with the app are among it where a form shows them as stored, for them to be changed; the
    names of an export's columns where they are explained.
    """
    typed = typed_texts(db) + calendar_words()
    seen, edited = any_of(typed), any_of([*typed, *default_texts()])
    names = [name for one in SETS for name in (one.name, *(column.name for column in one.columns))]
    columns = any_of([*typed, *names])
    return lambda address: edited if address.endswith("/edit") else columns if address == EXPLAINED else seen


def english_left(html: str, allowed: re.Pattern) -> list[str]:
    """The texts of a page in which a word stands that is neither translated nor typed by people."""
    data = frozenset(re.findall(r"\bdata-text-[a-z0-9-]+", html)) | {"data-kept", "data-all", "data-walk"}
    found = []
    for text in Shown(html, data).texts:
        left = text
        while BRACKETED.search(left):
            left = BRACKETED.sub(" ", left)
        # Most texts have nothing left by now.
        if WORD.search(left) and WORD.search(allowed.sub(" ", EVERYWHERE.sub(" ", left))):
            found.append(text)
    return found


@pytest.fixture
def fetch(app: Flask, bench, sign_in):
    """fetch(method, address, role): the page, if there is one. One role in a test: there is but one tablet."""
    clients: dict = {"nobody": app.test_client(), "locked": app.test_client()}
    clients["locked"].set_cookie("tablet", bench.tablet_secret)

    def page(method: str, address: str, role: str) -> str:
        if role not in clients:
            clients[role] = sign_in(role)
        response = clients[role].open(address, method=method)
        assert response.status_code < 500, (method, address, role)
        shown = response.mimetype == "text/html" and not 300 <= response.status_code < 400
        return response.get_data(as_text=True) if shown else ""

    return page


@pytest.mark.parametrize("role", ["lead", "roaster", "trainee", "locked", "nobody"])
def test_every_page_is_translated(app, bench, known, fetch, role):
    allowed = allowed_at(bench.db)
    left, seen = {}, 0
    for address in addresses(app, known, "GET"):
        html = fetch("GET", address, role)
        seen += bool(html)
        if found := english_left(html, allowed(address)):
            left[address] = found
    assert not left, "\n".join(f"{address}: {texts}" for address, texts in left.items())
    assert seen > {"lead": 40, "nobody": 1, "locked": 2}.get(role, 15)


def test_what_a_page_says_about_an_empty_form_is_translated(app, bench, known, fetch):
    """Every form sent with nothing in it."""
    allowed = allowed_at(bench.db)
    left = {}
    for address in addresses(app, known, "POST"):
        if "/lock" in address or "revoke" in address:
            continue  # it would end the session that the rest needs
        if found := english_left(fetch("POST", address, "lead"), allowed(address)):
            left[address] = found
    assert not left, "\n".join(f"{address}: {texts}" for address, texts in left.items())


def test_pages_that_are_not_there_are_translated(fetch):
    assert english_left(fetch("GET", "/nowhere", "lead"), any_of([])) == []
    assert "⟦" in fetch("GET", "/nowhere", "lead")


def test_the_check_finds_a_word_that_was_left():
    assert english_left("<p>⟦Start a batch⟧ now</p>", any_of([])) == ["⟦Start a batch⟧ now"]
    assert english_left("<p>⟦by ⟦Ada⟧⟧ · Lantern House · 56.2</p>", any_of(["Lantern House"])) == []
