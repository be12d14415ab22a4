"""The shape of what is sent, as JSON Schema 2020-12: of the same columns that are selected, with their meanings."""

from __future__ import annotations

from collections.abc import Iterable

from webapp.store import api_sets
from webapp.store.export_sets import Column, ExportSet
from webapp.ui.meanings import meanings

TYPES: dict[str, dict] = {
    "text": {"type": "string"}, "integer": {"type": "integer"}, "number": {"type": "number"},
    "yes_no": {"type": "boolean"}, "date": {"type": "string", "format": "date"},
    "time": {"type": "string", "format": "date-time"},
}  # fmt: skip
# Columns that always say something; any other may be empty: in JSON null.
CERTAIN = {
    "batches": "id product_id machine_id code product machine day roasted_at lot note person tablet made_at"
    " received_at",
    "results": "kind scale_id scale value u give_or_take fills readings samples readings_disagree"
    " fills_disagree samples_apart sigma_source u_meter_source",
    "samples": "id meter_id method_version_id kind method method_version meter scale checklist sigma_reading"
    " sigma_fill sigma_source u_meter u_meter_source note person role tablet made_at received_at",
    "readings": "fill reading value typed confirmed void_reason corrected",
    "corrections": "id sample_id fill reading reason person tablet made_at received_at",
    "decisions": "id decision reason verdict person tablet made_at received_at",
    "moves": "id sample_id from_batch_id to_batch_id reason person tablet made_at received_at",
    "facts": "correction_id fact reason person tablet made_at received_at",
    "waiting": "batch_id batch product_id product day roasted_at why",
    "meter_checks": "id meter_id plate assigned adjusted note person role tablet made_at received_at",
}
KINDS = ["whole", "ground"]
PARTS = [*KINDS, "difference"]
VERDICTS = ["inside", "undecided", "outside"]
# What a column may say, where that is one of a few words.
WORDS: dict[tuple[str, str], list[str]] = {
    ("batches", "verdict"): ["incomplete", *VERDICTS, "unjudged"], ("waiting", "verdict"): ["incomplete", *VERDICTS,
    "unjudged"], ("results", "verdict"): VERDICTS, ("results", "kind"): PARTS, ("samples", "kind"): KINDS,
    ("results", "side"): ["lighter", "darker"], ("results", "rule"): ["guarded", "simple"],
    ("samples", "checklist"): ["walked", "short", "page"], ("samples", "role"): ["trainee", "roaster", "lead"],
    ("waiting", "why"): ["undecided", "outside", "meter", "hands", "hold", "remeasure", "changed"],
}  # fmt: skip
MEANINGS = {
    "product_id": "Number of the product's record.", "machine_id": "Number of the roasting machine's record.",
    "scale_id": "Number of the scale's record.", "meter_id": "Number of the meter's record.",
    "target_version_id": "Number of the record of the target version that it is judged by.",
    "method_version_id": "Number of the record of the method's version.",
    "grinder_setting_id": "Number of the record of the grinder's setting.",
    "from_batch_id": "The batch that the sample stood in until then.",
    "to_batch_id": "The batch that it belongs to since then.",
    "correction_id": "Number of the correction's record; one may be about several facts.",
    "fact": "What of the batch was wrong.",
    "before": "What stood there, as text: masses in grams, temperatures in tenths of a degree, times in seconds.",
    "after": "What stands there since then, likewise.",
    "why": "What it waits for.",
}  # fmt: skip
# Sets that no export has, and whose columns mean the same as another one's.
ALIKE = {"waiting": "batches", "moves": "corrections", "facts": "corrections"}


def obj(properties: dict[str, dict], what: str) -> dict:
    """An object in which every property is there. More may be added later: readers leave out what they do not know."""
    return {"type": "object", "description": what, "properties": properties, "required": list(properties)}


def array(of: dict) -> dict:
    """A list of these."""
    return {"type": "array", "items": of}


def nullable(schema: dict) -> dict:
    """The same, or null."""
    return {"anyOf": [schema, {"type": "null"}]} if "$ref" in schema else schema | {"type": [schema["type"], "null"]}


def ref(name: str) -> dict:
    """A schema of the document's components."""
    return {"$ref": f"#/components/schemas/{name}"}


def columns_of(one: ExportSet) -> dict[str, dict]:
    """A property for each column of a set."""
    words = meanings()
    known = words.get(ALIKE.get(one.name, one.name), {}) | MEANINGS
    certain = CERTAIN.get(one.name, "").split()
    return {c.name: _property(one.name, c, c.name not in certain, known[c.name]) for c in one.columns}


def _property(of: str, column: Column, empty: bool, meaning: str) -> dict:
    schema = dict(TYPES[column.type])
    if column.name.endswith("id") and column.type == "text":
        schema["format"] = "uuid"
    if words := WORDS.get((of, column.name)):
        schema["enum"] = [*words, None] if empty else words
    return (nullable(schema) if empty else schema) | {"description": meaning}


def plain(names: str, **more: dict) -> dict[str, dict]:
    """Properties that are numbers in scale units by name, and others."""
    return {name: {"type": "number", "description": "In scale units."} for name in names.split()} | more


TEXT, FLAG, MOMENT = TYPES["text"], TYPES["yes_no"], TYPES["time"]
ID = TEXT | {"format": "uuid"}


def schemas() -> dict[str, dict]:
    """Name -> schema, for the components of the description."""
    return _batches() | _products() | _meters() | _answers()


def _batches() -> dict[str, dict]:
    batch = columns_of(api_sets.BATCHES) | {"results": array(ref("Result"))}
    sample = columns_of(api_sets.SAMPLES) | {"readings": array(ref("Reading"))}
    more = {
        "samples": array(ref("Sample")), "decisions": array(ref("Decision")),
        "reading_corrections": array(ref("ReadingCorrection")), "sample_moves": array(ref("SampleMove")),
        "fact_corrections": array(ref("FactCorrection")),
    }  # fmt: skip
    sets = (
        ("Result", api_sets.RESULTS, "What was found for one kind."),
        ("Reading", api_sets.READINGS, "One number of the meter, as it was entered and as it counts."),
        ("Decision", api_sets.DECISIONS, "What was to become of the batch; the last one stands."),
        ("ReadingCorrection", api_sets.CORRECTIONS, "A later word on a reading."),
        ("SampleMove", api_sets.MOVES, "A sample that was put to another batch, from or to this one."),
        ("FactCorrection", api_sets.FACTS, "A fact of the batch that was wrong, and what it is since then."),
        ("WaitingBatch", api_sets.WAITING, "A batch that waits for somebody."),
    )
    return {
        "Batch": obj(batch, "One roast of one product on one machine."),
        "WholeBatch": obj(batch | more, "A batch with all that was read of it and said about it."),
        "Sample": obj(sample, "Coffee of the batch, prepared and read once."),
        **{name: obj(columns_of(one), what) for name, one, what in sets},
    }


def _products() -> dict[str, dict]:
    band = plain("lower centre upper", kind=TEXT | {"enum": PARTS})
    band |= {name: nullable(band[name]) for name in ("lower", "upper")}
    target = {
        "id": ID, "version": TYPES["integer"], "scale_id": ID, "scale": TEXT,
        "rule": TEXT | {"enum": ["guarded", "simple"]}, "confidence": TYPES["number"],
        "whole_method_id": nullable(ID), "ground_method_id": nullable(ID), "bands": array(ref("Band")), "reason": TEXT,
        "person": nullable(TEXT), "made_at": MOMENT,
    }  # fmt: skip
    product = {"id": ID, "name": TEXT, "short": TEXT, "active": FLAG, "target": nullable(ref("Target"))}
    return {
        "Band": obj(band, "What one kind should read; a limit that is null is open."),
        "Target": obj(target, "A version of a product's targets."),
        "Product": obj(product, "What is sold under one name, with the target in force."),
        "WholeProduct": obj(product | {"targets": array(ref("Target"))}, "With every version, the newest first."),
    }


def _meters() -> dict[str, dict]:
    way = {"enum": [1, -1], "type": "integer", "description": "1: a higher number is lighter; -1: darker."}
    scale = plain("lower upper step", id=ID, name=TEXT, lighter=way)
    plate = plain("assigned tolerance", id=ID, name=TEXT, usable=FLAG, made_at=MOMENT)
    meter = {
        "id": ID, "name": TEXT, "active": FLAG, "scale": ref("Scale"), "plate": nullable(ref("Plate")),
        "last_check": nullable(ref("MeterCheck")),
    }  # fmt: skip
    return {
        "Scale": obj(scale, "The numbers of a meter."),
        "Plate": obj(plate, "The tile that the meter is checked on."),
        "MeterCheck": obj(columns_of(api_sets.CHECKS), "Readings of the plate."),
        "Meter": obj(meter, "An instrument with its scale, plate and last check."),
    }


def _answers() -> dict[str, dict]:
    line = {"type": "integer", "minimum": 0, "description": "The ledger's newest line: send it as changed_since."}
    about = dict.fromkeys(("name", "version", "build", "site", "time_zone"), TEXT) | {
        "now": MOMENT, "ledger_seq": line, "ledger_hash": TEXT,
    }  # fmt: skip
    error = obj({"parameter": TEXT, "message": TEXT}, "What is wrong with a parameter.")
    problem = {"type": TEXT, "title": TEXT, "status": TYPES["integer"], "detail": TEXT}
    return {
        "About": obj(about, "What answers here."),
        "Problem": obj(problem, "Why a request was refused (RFC 9457).") | {
            "properties": problem | {"errors": array(error)}, "required": ["type", "title", "status"],
        },
    }  # fmt: skip


def page_of(name: str) -> dict:
    """A page of a list."""
    following = nullable(TEXT) | {"description": "The address of the next page; null: this is the last."}
    line = {"type": "integer", "minimum": 0, "description": "The ledger's newest line when the list began."}
    return obj({"items": array(ref(name)), "next": following, "ledger_seq": line}, "A page of a list.")


def names() -> Iterable[str]:
    """Every schema there is."""
    return schemas().keys()
