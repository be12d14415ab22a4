"""What each column of an export means: the data dictionary, and the descriptions in a package."""

from __future__ import annotations

from flask_babel import gettext as _


def set_words() -> dict[str, str]:
    """Set -> what one of its rows is."""
    return {
        "batches": _("One row a batch: what was roasted, what was found, what was decided last."),
        "results": _("One row a batch and kind: the average with its give or take, and where it stands in its band."),
        "samples": _("One row a prepared sample: how, on what, and by whom it was read."),
        "readings": _("One row a reading of the meter, as it was entered and as it counts."),
        "corrections": _("One row a later word on a reading."),
        "decisions": _("One row a decision on a batch; the last one of a batch stands."),
        "blends": _("One row a blend: a batch that was mixed from others as a trial."),
        "blend_parts": _("One row a batch that goes into a blend."),
        "blend_part_values": _("One row a part of a blend and kind: what was known of it when the blend was planned."),
        "blend_expectations": _("One row a blend and kind: what was expected of it, and what was read."),
        "targets": _("One row a band of a target version."),
        "meter_checks": _("One row a check of a meter on its plate."),
        "grinder_log": _("One row an entry in the log of a grinder."),
    }


def set_names() -> dict[str, str]:
    """Set -> what to call it in a list."""
    return {
        "batches": _("Batches, with verdict and last decision"), "results": _("Results by kind"),
        "samples": _("Samples"), "readings": _("Readings"), "corrections": _("Corrections"),
        "decisions": _("Decisions"), "blends": _("Blends"), "blend_parts": _("Parts of blends"),
        "blend_part_values": _("Values of the parts of blends"), "blend_expectations": _("Blends, expected and read"),
        "targets": _("Targets"), "meter_checks": _("Meter checks"),
        "grinder_log": _("Grinder log"),
    }  # fmt: skip


def form_words() -> dict[str, str]:
    """Kind of file -> what it is good for."""
    return {
        "csv": _("CSV: a table for any program"),
        "package": _("All tables as CSV in a ZIP file, with a description (Data Package)"),
        "xlsx": _("Workbook with all tables, for spreadsheets (XLSX)"),
        "jsonl": _("JSON lines, for programs"),
        "parquet": _("Parquet, for statistics"),
        "sqlite": _("The whole bench as a database (SQLite), without PINs"),
    }


def style_words() -> dict[str, str]:
    """How a CSV file is written -> in words."""
    return {
        "comma_point": _("Comma between cells, decimal point"),
        "semicolon_comma": _("Semicolon between cells, decimal comma"),
        "semicolon_point": _("Semicolon between cells, decimal point"),
    }


def type_words() -> dict[str, str]:
    """Type of a column -> in words."""
    return {
        "text": _("text"), "integer": _("whole number"), "number": _("number"), "yes_no": _("1 or 0 (yes or no)"),
        "date": _("day, as 2026-05-14"), "time": _("time in UTC, as 2026-05-14T06:58:03.120Z"),
    }  # fmt: skip


def meanings() -> dict[str, dict[str, str]]:
    """Set -> column -> what it means."""
    return {name: _everywhere() | own for name, own in _own().items()}


def _everywhere() -> dict[str, str]:
    return {
        "id": _("Number of the record; the same for ever."),
        "code": _("What the batch is called at the bench."),
        "batch": _("What the batch is called at the bench."),
        "batch_id": _("Number of the batch's record."),
        "blend_id": _("Number of the blend's record."),
        "blend": _("What the blend is called at the bench, as a batch."),
        "sample_id": _("Number of the sample's record."),
        "product": _("Name of the product."),
        "kind": _("What was read: whole, ground, or the difference of the two (ground minus whole)."),
        "scale": _("Name of the scale of the meter."),
        "meter": _("Name of the meter."),
        "plate": _("Name of the reference plate."),
        "grinder": _("Name of the grinder."),
        "day": _("Calendar day at the roastery."),
        "person": _("Who entered it."),
        "role": _("The person's role at that time: trainee, roaster or lead."),
        "tablet": _("On which tablet it was entered."),
        "made_at": _("When it was entered, in UTC."),
        "received_at": _("When the server stored it, in UTC."),
        "note": _("What was written beside it."),
        "reason": _("The reason that was given."),
        "value": _("In scale units."),
        "verdict": _("What may be said: inside, undecided (too close to call) or outside."),
        "chance": _("How probable it is that what was measured lies in its band, 0 to 1."),
        "meter_state": _("Whether a passed check stands behind the meter; empty where none is asked for."),
        "grinder_state": _("burrs: the burrs were changed, and nothing was compared since."),
        "sigma_reading": _("Standard deviation of a reading, in scale units."),
        "sigma_fill": _("Standard deviation between fills, in scale units."),
        "sigma_source": _("Where these two come from: a study, everyday work (routine), or assumed."),
        "u_meter_source": _("Where the meter's share of the uncertainty comes from: its checks, or assumed."),
        "target_version": _("Number of the target version that it was judged by."),
        "lower": _("Lower limit of the band, in scale units; empty where it is open."),
        "centre": _("Centre of the band, in scale units."),
        "upper": _("Upper limit of the band, in scale units; empty where it is open."),
        "rule": _("How it is judged: guarded asks for the confidence, simple goes from limit to limit."),
        "confidence": _("The confidence that a guarded rule asks for, 0 to 1."),
        "fill": _("Number of the fill in its sample."),
        "reading": _("Number of the reading in its fill."),
    }


def _own() -> dict[str, dict[str, str]]:
    return {
        "batches": {
            "machine": _("Name of the roasting machine."), "roasted_at": _("When it was roasted, in UTC."),
            "lot": _("Lot of the green coffee."), "green_kg": _("Green coffee, in kilograms."),
            "roasted_kg": _("Roasted coffee, in kilograms."),
            "loss_percent": _("Roast loss, in percent of the green mass."),
            "drop_celsius": _("Temperature at the drop, in degrees Celsius."),
            "blend": _("Whether it was mixed from other batches, and not roasted."),
            "total_s": _("Roasting time, in seconds."), "development_s": _("Development time, in seconds."),
            "verdict": _("The whole batch: inside, undecided, outside, incomplete, or unjudged (no target)."),
            "not_read": _("Kinds with a target that were not read yet."),
            "hands_state": _("waiting: a trainee read it, and nobody has countersigned."),
            "decision": _("The last decision; empty where there is none yet."),
            "decision_reason": _("The reason that was given for it."), "decided_by": _("Who made it."),
            "decided_at": _("When it was made, in UTC."),
        },
        "results": {
            "value": _("The average, in scale units, unrounded."), "u": _("Its standard uncertainty, in scale units."),
            "give_or_take": _("Its expanded uncertainty with a coverage factor of 2, in scale units."),
            "fills": _("Fills that it rests on."), "readings": _("Readings that it rests on."),
            "samples": _("Samples that it rests on."),
            "readings_disagree": _("Whether readings of a fill lay further apart than they may."),
            "fills_disagree": _("Whether fills lay further apart than they may."),
            "samples_apart": _("Samples that were kept apart, since they were read otherwise."),
            "apart_why": _("setting: ground at another setting than the method names, so it is not judged."),
            "side": _("Outside or undecided: the side of the limit, lighter or darker."),
            "position": _("Distance from the centre in half bands: 0 in the centre, 1 on the lighter limit."),
        },
        "samples": {
            "method": _("Name of the method."), "method_version": _("Number of the method's version."),
            "grinder_setting": _("Name of the grinder's setting."),
            "checklist": _("How the steps were gone through: walked one by one, short, or on one page."),
            "u_meter": _("The meter's share of the uncertainty, in scale units."),
        },
        "readings": {
            "value": _("As the meter showed it, in scale units."), "typed": _("As it was typed."),
            "confirmed": _("Whether the person was asked about it and said yes."),
            "void_reason": _("Why it does not count; empty where it does."),
            "corrected": _("Whether a later correction stands for it."),
            "counts": _("What counts in its place, in scale units; empty where it does not count."),
            "made_at": _("When its sample was entered, in UTC."),
        },
        "corrections": {"value": _("What counts in its place, in scale units; empty: it does not count.")},
        "decisions": {
            "decision": _("What was decided: release, hold, remeasure, reject, concession or blend."),
            "verdict": _("The verdict of the batch as it stood then."),
            "customer": _("Whom a concession was made for; empty where nobody was named."),
            "supersedes": _("The id of the decision that stood until then; empty for the first one."),
            "role": _("The role in which it was made; empty in older records."),
        },
        "blends": {
            "target_version": _("Number of the target version that it was planned by."),
            "confidence": _("The chance of being in band that was asked for, 0 to 1."),
            "trial_kg": _("How much of it was mixed as a trial, in kilograms; empty where nobody said."),
            "carried_out": _("Whether its parts were decided to go into it."),
        },
        "blend_parts": {
            "kg": _("How much of the batch goes into it, in kilograms."), "share": _("Its share of the mass, 0 to 1."),
        },
        "blend_part_values": {
            "value": _("What the part read, in scale units, unrounded."),
            "u": _("Its standard uncertainty, in scale units."),
        },
        "blend_expectations": {
            "expected": _("The value that was expected of it, in scale units, unrounded."),
            "u": _("Its standard uncertainty, in scale units."),
            "chance": _("How probable it was that it would lie in its band, 0 to 1."),
            "read": _("What it read, in scale units, unrounded; empty while it is not read."),
            "difference": _("Read minus expected, in scale units."),
        },
        "targets": {"person": _("Who made the version."), "made_at": _("When it was made, in UTC.")},
        "meter_checks": {
            "assigned": _("What the plate should read, in scale units."),
            "found_deviation": _("How far from that it read as it was found, in scale units."),
            "found_sd": _("Standard deviation of those readings, in scale units."),
            "left_deviation": _("How far from it after it was adjusted; empty where it was not."),
            "tolerance": _("How far it may be off, in scale units."),
            "passed": _("Whether it lay within the tolerance as it was found."),
            "proven": _("Whether it lay within it when the check was over."),
            "adjusted": _("Whether the meter was adjusted."),
        },
        "grinder_log": {
            "what": _("What was done: burrs changed, setting changed, aligned or cleaned."),
            "setting": _("The setting that it was changed to."),
        },
    }  # fmt: skip
