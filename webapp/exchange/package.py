"""All sets in one ZIP file: a CSV each, described by a datapackage.json (Frictionless Data, Data Package 1)."""

from __future__ import annotations

import json
import zipfile
from typing import IO

from sqlite_utils import Database

from webapp.exchange import csv_files
from webapp.exchange.csv_files import Style
from webapp.store import export_sets
from webapp.store.export_sets import ExportSet

TYPES = {"text": "string", "integer": "integer", "number": "number", "yes_no": "boolean", "date": "date",
         "time": "datetime"}  # fmt: skip


def write(
    db: Database, to: IO[bytes], style: Style, since: str, until: str, meanings: dict[str, dict[str, str]]
) -> None:
    """Write the package. meanings: set -> column -> what it means, in the reader's language."""
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("datapackage.json", json.dumps(describe(style, meanings), ensure_ascii=False, indent=2))
        for one in export_sets.SETS:
            with made.open(f"{one.name}.csv", "w", force_zip64=True) as file:
                for piece in csv_files.written(one.columns, export_sets.rows(db, one, since, until), style):
                    file.write(piece)


def describe(style: Style, meanings: dict[str, dict[str, str]]) -> dict:
    """The content of datapackage.json. A stretch of days may cut off what a row points to only where that is older:
    references are described, and hold for the whole."""
    return {
        "profile": "tabular-data-package",
        "name": "roast-colour",
        "resources": [_resource(one, style, meanings[one.name]) for one in export_sets.SETS],
    }


def _resource(one: ExportSet, style: Style, meanings: dict[str, str]) -> dict:
    fields = []
    for column in one.columns:
        field = {"name": column.name, "type": TYPES[column.type], "description": meanings[column.name]}
        if column.type == "number":
            field["decimalChar"] = style.decimal
        if column.type == "yes_no":
            field |= {"trueValues": ["1"], "falseValues": ["0"]}
        if column.type == "time":
            field["format"] = "any"
        fields.append(field)
    schema = {"fields": fields, "primaryKey": list(one.key), "missingValues": [""]}
    if one.points:
        schema["foreignKeys"] = [
            {"fields": column, "reference": {"resource": there.replace("_", "-"), "fields": of}}
            for column, (there, of) in one.points.items()
        ]
    return {
        "profile": "tabular-data-resource", "name": one.name.replace("_", "-"), "path": f"{one.name}.csv",
        "format": "csv", "mediatype": "text/csv", "encoding": "utf-8",
        "dialect": {"delimiter": style.separator, "lineTerminator": "\r\n", "header": True}, "schema": schema,
    }  # fmt: skip
