"""What can be taken out of a bench: sets of rows with columns of plain names, each one SELECT over the facts.

The same SELECT is a CSV file, JSON lines, and a view in the copy of the database. Times are UTC text, values are in
scale units, masses in kilograms; an empty column is one that nobody filled in. Nothing secret is in any of them.
"""

from __future__ import annotations

from .export_shape import Column, ExportSet, Type, make_set, rows

__all__ = ["BY_NAME", "SETS", "Column", "ExportSet", "rows"]

_HOW_MADE: dict[str, tuple[Type, str]] = {
    "person": ("text", "w.name"), "role": ("text", "x.role"), "tablet": ("text", "t.name"),
    "made_at": ("time", "x.made_at"), "received_at": ("time", "x.received_at"),
}  # fmt: skip
_BY = "JOIN person w ON w.id = x.person_id JOIN tablet t ON t.id = x.tablet_id"

# A corrected fact by the names and units of the set "batches"; whose names an id stands for, by that.
_FACT = (
    "CASE x.fact WHEN 'product_id' THEN 'product' WHEN 'machine_id' THEN 'machine' WHEN 'green_g' THEN 'green_kg'"
    " WHEN 'roasted_g' THEN 'roasted_kg' WHEN 'drop_decicelsius' THEN 'drop_celsius' ELSE x.fact END"
)


def _fact_value(column: str) -> str:
    value = f"x.{column}"
    return (
        f"CAST(CASE x.fact WHEN 'product_id' THEN (SELECT name FROM product WHERE id = {value})"
        f" WHEN 'machine_id' THEN (SELECT name FROM machine WHERE id = {value})"
        f" WHEN 'green_g' THEN {value} / 1000.0 WHEN 'roasted_g' THEN {value} / 1000.0"
        f" WHEN 'drop_decicelsius' THEN {value} / 10.0 ELSE {value} END AS TEXT)"
    )


SETS: tuple[ExportSet, ...] = (
    make_set(
        "batches",
        f"batch x {_BY} JOIN product p ON p.id = x.product_id JOIN machine m ON m.id = x.machine_id"
        " LEFT JOIN batch_result r ON r.batch_id = x.id"
        " LEFT JOIN decision d ON d.rowid = (SELECT max(y.rowid) FROM decision y WHERE y.batch_id = x.id)"
        " LEFT JOIN person dw ON dw.id = d.person_id LEFT JOIN import_run i ON i.id = x.import_id"
        " LEFT JOIN part_result rw ON rw.batch_id = x.id AND rw.kind = 'whole'"
        " LEFT JOIN part_result rg ON rg.batch_id = x.id AND rg.kind = 'ground'",
        {
            "id": ("text", "x.id"), "code": ("text", "x.code"), "product": ("text", "p.name"),
            "machine": ("text", "m.name"), "day": ("date", "x.day"), "roasted_at": ("time", "x.roasted_at"),
            "lot": ("text", "x.lot"), "green_kg": ("number", "x.green_g / 1000.0"),
            "roasted_kg": ("number", "x.roasted_g / 1000.0"),
            "loss_percent": ("number", "100.0 * (x.green_g - x.roasted_g) / x.green_g"),
            "drop_celsius": ("number", "x.drop_decicelsius / 10.0"), "total_s": ("integer", "x.total_s"),
            "development_s": ("integer", "x.development_s"), "note": ("text", "x.note"),
            "blend": ("yes_no", "x.blend IS NOT NULL"),
            "whole_average": ("number", "rw.value"), "ground_average": ("number", "rg.value"),
            "verdict": ("text", "r.verdict"), "chance": ("number", "r.chance"), "not_read": ("text", "r.missing"),
            "meter_state": ("text", "r.meter_state"), "grinder_state": ("text", "r.grinder_state"),
            "hands_state": ("text", "r.hands_state"), "decision": ("text", "d.what"),
            "decision_reason": ("text", "d.reason"), "decided_by": ("text", "dw.name"),
            "decided_at": ("time", "d.made_at"), "import_id": ("text", "x.import_id"),
            "import_file": ("text", "i.file_name"), "import_row": ("integer", "x.import_row"),
            **{name: column for name, column in _HOW_MADE.items() if name != "role"},
        },
        points={"import_id": "imports.id"}, day="x.day",
    ),
    make_set(
        "results",
        "part_result x JOIN batch b ON b.id = x.batch_id JOIN product p ON p.id = b.product_id"
        " JOIN scale c ON c.id = x.scale_id LEFT JOIN target_version v ON v.id = x.target_version_id"
        " LEFT JOIN target_band k ON k.target_version_id = v.id AND k.kind = x.kind",
        {
            "batch_id": ("text", "x.batch_id"), "batch": ("text", "b.code"), "product": ("text", "p.name"),
            "day": ("date", "b.day"), "kind": ("text", "x.kind"), "scale": ("text", "c.name"),
            "value": ("number", "x.value"), "u": ("number", "x.u"), "give_or_take": ("number", "2 * x.u"),
            "fills": ("integer", "x.fills"), "readings": ("integer", "x.readings"), "samples": ("integer", "x.samples"),
            "readings_disagree": ("yes_no", "x.readings_disagree"), "fills_disagree": ("yes_no", "x.fills_disagree"),
            "samples_apart": ("integer", "x.apart"), "apart_why": ("text", "x.apart_why"),
            "target_version": ("integer", "v.no"), "lower": ("number", "k.lower / 100.0"),
            "centre": ("number", "k.centre / 100.0"), "upper": ("number", "k.upper / 100.0"),
            "rule": ("text", "v.rule"), "confidence": ("number", "v.confidence"), "verdict": ("text", "x.verdict"),
            "side": ("text", "x.side"), "chance": ("number", "x.chance"), "position": ("number", "x.position"),
            "sigma_reading": ("number", "x.sigma_r"), "sigma_fill": ("number", "x.sigma_f"),
            "sigma_source": ("text", "x.sigma_source"), "u_meter_source": ("text", "x.u_meter_source"),
            "meter_state": ("text", "x.meter_state"), "grinder_state": ("text", "x.grinder_state"),
        },
        key="batch_id kind", points={"batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "samples",
        f"sample x {_BY} JOIN batch b ON b.id = x.batch_id JOIN meter m ON m.id = x.meter_id"
        " JOIN scale c ON c.id = m.scale_id JOIN method_version v ON v.id = x.method_version_id"
        " JOIN method d ON d.id = v.method_id LEFT JOIN plate q ON q.id = x.plate_id"
        " LEFT JOIN grinder_setting s ON s.id = x.grinder_setting_id LEFT JOIN grinder g ON g.id = s.grinder_id",
        {
            "id": ("text", "x.id"), "batch_id": ("text", "x.batch_id"), "batch": ("text", "b.code"),
            "kind": ("text", "x.kind"), "method": ("text", "d.name"), "method_version": ("integer", "v.no"),
            "meter": ("text", "m.name"), "scale": ("text", "c.name"), "plate": ("text", "q.name"),
            "grinder": ("text", "g.name"), "grinder_setting": ("text", "s.name"), "checklist": ("text", "x.checklist"),
            "sigma_reading": ("number", "x.sigma_r"), "sigma_fill": ("number", "x.sigma_f"),
            "sigma_source": ("text", "x.sigma_source"), "u_meter": ("number", "x.u_meter"),
            "u_meter_source": ("text", "x.u_meter_source"), "note": ("text", "x.note"),
            "import_id": ("text", "x.import_id"), **_HOW_MADE,
        },
        points={"batch_id": "batches.id", "import_id": "imports.id"}, day="b.day",
    ),
    make_set(
        "readings",
        "reading x JOIN sample s ON s.id = x.sample_id JOIN batch b ON b.id = s.batch_id"
        " LEFT JOIN correction k ON k.rowid = (SELECT max(y.rowid) FROM correction y WHERE y.sample_id = x.sample_id"
        " AND y.fill_no = x.fill_no AND y.reading_no = x.no)",
        {
            "sample_id": ("text", "x.sample_id"), "batch": ("text", "b.code"), "kind": ("text", "s.kind"),
            "fill": ("integer", "x.fill_no"), "reading": ("integer", "x.no"), "value": ("number", "x.value / 100.0"),
            "typed": ("text", "x.typed"), "confirmed": ("yes_no", "x.confirmed"),
            "void_reason": ("text", "x.void_reason"), "corrected": ("yes_no", "k.id IS NOT NULL"),
            "counts": (
                "number",
                "CASE WHEN k.id IS NOT NULL THEN k.value / 100.0 WHEN x.void_reason = '' THEN x.value / 100.0 END",
            ),
            "made_at": ("time", "s.made_at"),
        },
        key="sample_id fill reading", points={"sample_id": "samples.id"}, day="b.day",
    ),
    make_set(
        "corrections",
        f"correction x {_BY} JOIN sample s ON s.id = x.sample_id JOIN batch b ON b.id = s.batch_id",
        {
            "id": ("text", "x.id"), "sample_id": ("text", "x.sample_id"), "batch": ("text", "b.code"),
            "fill": ("integer", "x.fill_no"), "reading": ("integer", "x.reading_no"),
            "value": ("number", "x.value / 100.0"), "reason": ("text", "x.reason"),
            **{name: column for name, column in _HOW_MADE.items() if name != "role"},
        },
        points={"sample_id": "samples.id"}, day="b.day",
    ),
    make_set(
        "sample_moves",
        f"sample_move x {_BY} JOIN sample s ON s.id = x.sample_id JOIN batch b ON b.id = x.to_batch_id"
        " JOIN batch f ON f.id = x.from_batch_id",
        {
            "id": ("text", "x.id"), "sample_id": ("text", "x.sample_id"), "kind": ("text", "s.kind"),
            "from_batch_id": ("text", "x.from_batch_id"), "from_batch": ("text", "f.code"),
            "to_batch_id": ("text", "x.to_batch_id"), "to_batch": ("text", "b.code"), "reason": ("text", "x.reason"),
            **{name: column for name, column in _HOW_MADE.items() if name != "role"},
        },
        points={"sample_id": "samples.id", "from_batch_id": "batches.id", "to_batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "batch_corrections",
        "batch_correction_fact x JOIN batch_correction c ON c.id = x.correction_id JOIN batch b ON b.id = c.batch_id"
        " JOIN person w ON w.id = c.person_id JOIN tablet t ON t.id = c.tablet_id",
        {
            "correction_id": ("text", "x.correction_id"), "batch_id": ("text", "c.batch_id"),
            "batch": ("text", "b.code"), "fact": ("text", _FACT), "before": ("text", _fact_value("before")),
            "after": ("text", _fact_value("after")), "reason": ("text", "c.reason"), "person": ("text", "w.name"),
            "tablet": ("text", "t.name"), "made_at": ("time", "c.made_at"), "received_at": ("time", "c.received_at"),
        },
        key="correction_id fact", points={"batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "result_changes",
        "result_change x JOIN batch b ON b.id = x.batch_id",
        {
            "id": ("text", "x.id"), "batch_id": ("text", "x.batch_id"), "batch": ("text", "b.code"),
            "cause": ("text", "x.cause"), "cause_id": ("text", "x.cause_id"),
            "verdict_before": ("text", "x.verdict_before"), "verdict_after": ("text", "x.verdict_after"),
            "received_at": ("time", "x.received_at"),
        },
        points={"batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "result_change_values",
        "result_change_part x JOIN result_change c ON c.id = x.change_id JOIN batch b ON b.id = c.batch_id",
        {
            "change_id": ("text", "x.change_id"), "batch": ("text", "b.code"), "kind": ("text", "x.kind"),
            "value_before": ("number", "x.value_before"), "value_after": ("number", "x.value_after"),
            "verdict_before": ("text", "x.verdict_before"), "verdict_after": ("text", "x.verdict_after"),
            "received_at": ("time", "c.received_at"),
        },
        key="change_id kind", points={"change_id": "result_changes.id"}, day="b.day",
    ),
    make_set(
        "decisions",
        f"decision x {_BY} JOIN batch b ON b.id = x.batch_id JOIN product p ON p.id = b.product_id",
        {
            "id": ("text", "x.id"), "batch_id": ("text", "x.batch_id"), "batch": ("text", "b.code"),
            "product": ("text", "p.name"), "decision": ("text", "x.what"), "reason": ("text", "x.reason"),
            "verdict": ("text", "x.verdict"), "customer": ("text", "x.customer"),
            "supersedes": ("text", "x.supersedes"), **_HOW_MADE,
        },
        points={"batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "blends",
        f"blend x {_BY} JOIN batch b ON b.id = x.batch_id JOIN product p ON p.id = b.product_id"
        " JOIN target_version v ON v.id = x.target_version_id",
        {
            "id": ("text", "x.id"), "batch_id": ("text", "x.batch_id"), "batch": ("text", "b.code"),
            "product": ("text", "p.name"), "target_version": ("integer", "v.no"),
            "confidence": ("number", "x.confidence"), "trial_kg": ("number", "x.trial_g / 1000.0"),
            "reason": ("text", "x.reason"),
            "carried_out": (
                "yes_no",
                "EXISTS (SELECT 1 FROM blend_part q CROSS JOIN decision d ON d.batch_id = q.batch_id"
                " AND d.blend_id = x.id WHERE q.blend_id = x.id)",
            ),
            **{name: column for name, column in _HOW_MADE.items() if name != "role"},
        },
        points={"batch_id": "batches.id"}, day="b.day",
    ),
    make_set(
        "blend_parts",
        "blend_part x JOIN blend n ON n.id = x.blend_id JOIN batch t ON t.id = n.batch_id"
        " JOIN batch b ON b.id = x.batch_id",
        {
            "blend_id": ("text", "x.blend_id"), "blend": ("text", "t.code"), "batch_id": ("text", "x.batch_id"),
            "batch": ("text", "b.code"), "kg": ("number", "x.grams / 1000.0"),
            "share": (
                "number",
                "1.0 * x.grams / (SELECT sum(y.grams) FROM blend_part y WHERE y.blend_id = x.blend_id)",
            ),
        },
        key="blend_id batch_id", points={"blend_id": "blends.id", "batch_id": "batches.id"}, day="t.day",
    ),
    make_set(
        "blend_part_values",
        "blend_part_value x JOIN blend n ON n.id = x.blend_id JOIN batch t ON t.id = n.batch_id"
        " JOIN batch b ON b.id = x.batch_id",
        {
            "blend_id": ("text", "x.blend_id"), "blend": ("text", "t.code"), "batch_id": ("text", "x.batch_id"),
            "batch": ("text", "b.code"), "kind": ("text", "x.kind"), "value": ("number", "x.value"),
            "u": ("number", "x.u"),
        },
        key="blend_id batch_id kind", points={"blend_id": "blends.id", "batch_id": "batches.id"}, day="t.day",
    ),
    make_set(
        "blend_expectations",
        "blend_expected x JOIN blend n ON n.id = x.blend_id JOIN batch t ON t.id = n.batch_id"
        " LEFT JOIN part_result r ON r.batch_id = t.id AND r.kind = x.kind",
        {
            "blend_id": ("text", "x.blend_id"), "blend": ("text", "t.code"), "kind": ("text", "x.kind"),
            "expected": ("number", "x.value"), "u": ("number", "x.u"), "chance": ("number", "x.chance"),
            "read": ("number", "r.value"), "difference": ("number", "r.value - x.value"),
        },
        key="blend_id kind", points={"blend_id": "blends.id"}, day="t.day",
    ),
    make_set(
        "targets",
        "target_band x JOIN target_version v ON v.id = x.target_version_id JOIN product p ON p.id = v.product_id"
        " JOIN scale c ON c.id = v.scale_id LEFT JOIN person w ON w.id = v.person_id",
        {
            "product": ("text", "p.name"), "target_version": ("integer", "v.no"), "kind": ("text", "x.kind"),
            "scale": ("text", "c.name"), "lower": ("number", "x.lower / 100.0"),
            "centre": ("number", "x.centre / 100.0"), "upper": ("number", "x.upper / 100.0"),
            "rule": ("text", "v.rule"), "confidence": ("number", "v.confidence"), "reason": ("text", "v.reason"),
            "person": ("text", "w.name"), "made_at": ("time", "v.made_at"),
        },
        key="product target_version kind",
    ),
    make_set(
        "meter_checks",
        f"meter_check x {_BY} JOIN meter m ON m.id = x.meter_id JOIN plate q ON q.id = x.plate_id"
        " LEFT JOIN meter_check_result r ON r.check_id = x.id",
        {
            "id": ("text", "x.id"), "meter": ("text", "m.name"), "plate": ("text", "q.name"),
            "assigned": ("number", "q.assigned / 100.0"), "found_deviation": ("number", "r.found"),
            "found_sd": ("number", "r.found_sd"), "left_deviation": ("number", "r.left_off"),
            "tolerance": ("number", "r.tolerance"), "passed": ("yes_no", "r.passed"),
            "proven": ("yes_no", "r.proven"), "adjusted": ("yes_no", "x.adjusted"), "note": ("text", "x.note"),
            **_HOW_MADE,
        },
    ),
    make_set(
        "grinder_log",
        f"grinder_event x {_BY} JOIN grinder g ON g.id = x.grinder_id"
        " LEFT JOIN grinder_setting s ON s.id = x.setting_id",
        {
            "id": ("text", "x.id"), "grinder": ("text", "g.name"), "what": ("text", "x.what"),
            "setting": ("text", "s.name"), "note": ("text", "x.note"), **_HOW_MADE,
        },
    ),
    make_set(
        "imports",
        f"import_run x {_BY}",
        {
            "id": ("text", "x.id"), "file": ("text", "x.file_name"), "sha256": ("text", "x.sha256"),
            "columns": ("text", "x.columns"), "rows": ("integer", "x.rows"), "taken": ("integer", "x.taken"),
            "known": ("integer", "x.known"), "refused": ("integer", "x.refused"),
            **{name: column for name, column in _HOW_MADE.items() if name != "role"},
        },
    ),
)  # fmt: skip
BY_NAME = {one.name: one for one in SETS}
