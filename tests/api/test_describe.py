"""The description in OpenAPI 3.1: every route is in it, and every answer is as it says."""

import copy
import re
from datetime import datetime

import jsonschema
import pytest

from webapp.api.asked import MOST, USUAL
from webapp.store import api_sets

DIALECT = jsonschema.Draft202012Validator  # the dialect of OpenAPI 3.1 (OAS 3.1.0, 4.8.24)
FORMATS = jsonschema.FormatChecker(["date", "uuid"])
NOTHING = "00000000-0000-4000-8000-000000000000"


@FORMATS.checks("date-time")
def is_a_time(value):
    """RFC 3339, 5.6, in UTC and to milliseconds, of a day that there is."""
    if not isinstance(value, str):
        return True
    shape = re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", value)
    try:
        return bool(shape and datetime.fromisoformat(value))
    except ValueError:
        return False


@pytest.fixture
def document(program):
    return program.get("/openapi.json")


def closed(schema):
    """The same, with no property that is not described."""
    schema = copy.deepcopy(schema)
    parts = [schema]
    while parts:
        part = parts.pop()
        if isinstance(part, dict):
            if part.get("type") == "object" and "properties" in part:
                part["additionalProperties"] = False
            parts += part.values()
        elif isinstance(part, list):
            parts += part
    return schema


def validate(document, answer, path):
    """Hold an answer against what the description says of this path, status and media type."""
    response = document["paths"][path]["get"]["responses"][str(answer.status_code)]
    if "$ref" in response:
        response = document["components"]["responses"][response["$ref"].rsplit("/", 1)[1]]
    assert set(response.get("headers", {})) - set(answer.headers.keys()) <= {"Link"}  # Link: only where it goes on
    if answer.status_code == 304:
        return
    schema = closed({"components": document["components"], **response["content"][answer.mimetype]["schema"]})
    DIALECT(schema, format_checker=FORMATS).validate(answer.get_json())


def test_it_has_every_route_and_no_other(app, document):
    rules = {
        re.sub(r"<uuid:(\w+)>", r"{\1}", rule.rule.removeprefix("/api/v1"))
        for rule in app.url_map.iter_rules()
        if rule.rule.startswith("/api/")
    }
    assert set(document["paths"]) == rules
    assert document["servers"] == [{"url": "/api/v1"}]
    assert document["openapi"].startswith("3.1.")
    assert all(set(path) == {"get"} for path in document["paths"].values())


def test_it_is_sound_in_itself(document):
    """Every reference leads somewhere, every schema is one, every operation has a name of its own."""
    text = str(document)
    for kind, name in re.findall(r"#/components/(\w+)/(\w+)", text):
        assert name in document["components"][kind]
    for schema in document["components"]["schemas"].values():
        DIALECT.check_schema(schema)
    for name in document["components"]["schemas"]:
        assert f"#/components/schemas/{name}'" in text, f"{name} is used nowhere"
    operations = [path["get"]["operationId"] for path in document["paths"].values()]
    assert len(set(operations)) == len(operations)
    for path, item in document["paths"].items():
        inside = {p["name"] for p in item["get"].get("parameters", ()) if p["in"] == "path"}
        assert inside == set(re.findall(r"{(\w+)}", path))


def test_every_answer_of_a_walk_is_as_it_says(program, bench, busy, document):
    """Every list in pages, every record, what is not there, what is not understood, and without a key."""
    bench.db.conn.execute("INSERT OR IGNORE INTO batch_waiting SELECT id, 'changed' FROM batch")
    bench.batch("bare")
    seen = set()
    for path in document["paths"]:
        collection = path.split("/{")[0]
        addresses = [path]
        if "{" in path:
            addresses = [f"{collection}/{item['id']}" for item in program.follow(collection)]
            addresses.append(f"{collection}/{NOTHING}")
        elif "parameters" in document["paths"][path]["get"]:
            addresses += [f"{path}?limit=1", f"{path}?limit=0"]
        for address in [*addresses, f"{addresses[0]}?x=1"]:
            answer = program.ask(address)
            validate(document, answer, path)
            seen.add((path, answer.status_code))
            if "ETag" in answer.headers:
                validate(document, program.ask(address, If_None_Match=answer.headers["ETag"]), path)
        validate(document, program.client.get(f"/api/v1{addresses[0]}"), path)
    assert {path for path, status in seen if status == 200} == set(document["paths"])
    assert {status for _path, status in seen} == {200, 400, 404}


def test_the_walk_would_notice(program, busy, document):
    """The check itself: a property that nobody described, one that is missing, a number that came as text."""
    answer = program.ask(f"/batches/{busy['batch']}")
    for break_it in (
        lambda said: said.update(pin_hash="x"),
        lambda said: said["samples"][0].pop("meter_id"),
        lambda said: said["samples"][0]["readings"][0].update(value="56.2"),
        lambda said: said["results"][0].update(verdict="maybe"),
        lambda said: said.update(roasted_at="yesterday"),
    ):
        said = copy.deepcopy(answer.get_json())
        break_it(said)

        class Broken:
            status_code, mimetype, headers = 200, "application/json", answer.headers

            def get_json(self, said=said):
                return said

        with pytest.raises(jsonschema.ValidationError):
            validate(document, Broken(), "/batches/{batch_id}")


def test_it_says_what_every_column_means(document):
    schemas = document["components"]["schemas"]
    for name, one in (("Batch", api_sets.BATCHES), ("Result", api_sets.RESULTS), ("Sample", api_sets.SAMPLES),
                      ("Reading", api_sets.READINGS), ("Decision", api_sets.DECISIONS)):  # fmt: skip
        for column in one.columns:
            assert schemas[name]["properties"][column.name]["description"].endswith("."), (name, column.name)


def test_it_says_how_long_a_page_is(document):
    limit = next(p for p in document["paths"]["/batches"]["get"]["parameters"] if p["name"] == "limit")
    assert (limit["schema"]["minimum"], limit["schema"]["maximum"], limit["schema"]["default"]) == (1, MOST, USUAL)
