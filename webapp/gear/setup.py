"""What a new bench still needs before a batch can be measured, in the order in which things build on each other."""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import gear, methods, products


@dataclass(frozen=True)
class Part:
    """One part of a bench: is it there, what is it for, and where is it made."""

    name: str
    done: bool
    words: str
    action: str
    url: str


def bench_parts(db: Database) -> list[Part]:
    """The six parts of a bench, in order."""
    meters = gear.list_meters(db)
    setting = any(grinder.settings for grinder in gear.list_grinders(db))
    offered = methods.list_methods(db)
    kinds = {method.kind for method in offered if method.kind == "whole" or method.grinder_setting_id}
    return [
        Part(
            _("Scale"), bool(gear.list_scales(db)),
            _("The numbers your meter shows, and which way is lighter."),
            _("Add a scale"), url_for("gear.new_scale"),
        ),
        Part(
            _("Meter and plate"), any(meter.usable_plate for meter in meters),
            _("The instrument, and the reference plate it is checked on."),
            *meter_action(meters),
        ),
        Part(
            _("Machine"), bool(gear.list_machines(db)),
            _("The roasting machines your batches come from."),
            _("Add a machine"), url_for("gear.new_machine"),
        ),
        Part(
            _("Grinder and setting"), setting,
            _("Ground coffee is read at one fixed setting: ground finer, the same coffee reads lighter."),
            *grinder_action(db),
        ),
        Part(
            _("Methods"), kinds >= {"whole", "ground"},
            _("The ground method still needs its grinder setting: change it and choose one.")
            if kinds == {"whole"} and len(offered) > 1
            else _("How a sample is prepared, step by step. Two good ones come with Drumside."),
            _("Choose methods"), url_for("gear.methods"),
        ),
        Part(
            _("Products"), bool(products.list_products(db)),
            _("What you sell, and the colour it should have."),
            _("Add a product"), url_for("targets.new_product"),
        ),
    ]  # fmt: skip


def meter_action(meters: list[gear.Meter]) -> tuple[str, str]:
    """(words, address) for the meter's part: a meter without a plate wants one."""
    if meters:
        return _("Set its plate value"), url_for("gear.new_plate", meter_id=meters[0].id)
    return _("Add a meter"), url_for("gear.new_meter")


def grinder_action(db: Database) -> tuple[str, str]:
    """(words, address) for the grinder's part: a grinder without a setting wants one."""
    if grinders := gear.list_grinders(db):
        return _("Add a setting"), url_for("gear.grinder", grinder_id=grinders[0].id)
    return _("Add a grinder"), url_for("gear.new_grinder")
