"""The bench before the first batch, and what is changed about it on the way: people, gear, methods, targets."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import TYPE_CHECKING

from sqlite_utils import Database

from demo.nature import Errors
from demo.scenario import KINDS, Product, Scenario
from webapp.gear.defaults import install_default_methods
from webapp.store import gear, grinder_log, meter_rules, methods, people, products, sessions, site
from webapp.store.connect import one, write
from webapp.store.products import TargetBand
from webapp.store.who import SYSTEM, Who

if TYPE_CHECKING:
    from demo.work import Work

SPACE = uuid.UUID("5b1d7f1e-51f4-4f0c-9d3b-7a0a3f5c2d10")


class Setting:
    """The ids behind the scenario's keys, and the functions that make the records."""

    def __init__(self, db: Database, scenario: Scenario) -> None:
        self.db, self.scenario = db, scenario
        self.ids: dict[tuple[str, str], str] = {}
        self.methods: dict[str, str] = {}
        self.retargeted = self.signed_off = self.frozen = self.closed = False
        self.errors = Errors(scenario)
        self.u_meters: dict[str, float] = {}
        self.works: dict[str, Work] = {}
        self.burr_days: list[int] = []
        self.studied: int | None = None
        self.ground_versions: list[str] = []
        self.mixed_up: str | None = None
        self.blended: str | None = None

    def id_for(self, *parts: object) -> str:
        """The same id for the same thing, each time the demo is built."""
        return str(uuid.uuid5(SPACE, "/".join(map(str, parts))))

    def who(self, person_key: str, tablet_key: str | None = None) -> Who:
        """A person of the scenario on one of its tablets."""
        tablet = self.ids["tablets", tablet_key] if tablet_key else None
        return Who(self.ids["people", person_key], self.scenario.get("people", person_key).role, tablet)

    def bench(self) -> str:
        """The key of the tablet that lies at the bench."""
        return "old" if ("tablets", "bench") not in self.ids else "bench"

    def open_bench(self, first_day: int, now: datetime) -> None:
        """Everything that is there on the first morning."""
        scenario = self.scenario
        with write(self.db):
            told = scenario.site
            site.put_site(
                self.db, site.Site(told["name"], told["time_zone"], told["idle_minutes"], 12), SYSTEM, now
            )
            self.come_and_go(first_day - 1, now)
            lead = self.who(scenario.people[0].key)
            self.add_gear(lead, now)
            for product in scenario.products:
                self.add_product(product, lead, now)
            self.put_under_control(self.who(scenario.people[0].key, self.bench()), now)

    def put_under_control(self, who: Who, now: datetime) -> None:
        """When each meter is checked, and where each grinder stands."""
        for m in self.scenario.meters:
            meter_rules.add_rule(
                self.db, self.ids["meters", m.key], m.check["due"], m.check.get("every"), m.check.get("starts", ""),
                m.check["warm_up"], 3, "", who, now, self.id_for("rule", m.key),
            )  # fmt: skip
        for g in self.scenario.grinders:
            self.set_grinder(g.key, g.settings[0], who, now)

    def set_grinder(self, grinder_key: str, setting: str, who: Who, now: datetime) -> None:
        """A grinder is set, and the log says so."""
        grinder_log.add_event(
            self.db, self.id_for("set", grinder_key, setting), self.ids["grinders", grinder_key], "setting",
            self.ids["settings", setting], "", who, now,
        )  # fmt: skip

    def come_and_go(self, day: int, now: datetime) -> None:
        """People who have begun by `day`, tablets that have been enrolled or taken out of use by then."""
        boss = self.ids.get(("people", self.scenario.people[0].key))
        with write(self.db):
            for person in self.scenario.people:
                if person.starts <= day and ("people", person.key) not in self.ids:
                    self.add_person(person, Who(boss) if boss else SYSTEM, now)
                    boss = boss or self.ids["people", person.key]
            for tablet in self.scenario.tablets:
                key = ("tablets", tablet.key)
                if tablet.enrolled <= day and key not in self.ids:
                    self.ids[key] = sessions.enrol_tablet(self.db, tablet.name, Who(boss), now)[0]
                revoked = one(self.db, "SELECT revoked_at AS at FROM tablet WHERE id = ?", (self.ids.get(key),))
                if tablet.revoked is not None and tablet.revoked <= day and revoked["at"] is None:
                    sessions.revoke_tablet(self.db, self.ids[key], Who(boss), now)

    def add_person(self, person, who: Who, now: datetime) -> None:
        """One person with PIN and habits."""
        person_id = people.add_person(self.db, person.name, person.role, person.pin, who, now)
        self.ids["people", person.key] = person_id
        if person.auto_point or person.short:
            own = Who(person_id, person.role)
            people.set_habits(self.db, person_id, person.auto_point, person.short, own, now)

    def add_gear(self, who: Who, now: datetime) -> None:
        """Scales, machines, meters, grinders, and the two methods that come with the app."""
        scenario, db, ids = self.scenario, self.db, self.ids
        for s in scenario.scales:
            ids["scales", s.key] = gear.add_scale(
                db, s.name, s.lower, s.upper, s.step, s.lighter, who, now, self.id_for("scale", s.key)
            )
        for m in scenario.machines:
            ids["machines", m.key] = gear.add_machine(db, m.name, who, now, self.id_for("machine", m.key))
        for m in scenario.meters:
            plate = m.plate["name"], m.plate["assigned"], m.plate["tolerance"]
            ids["meters", m.key] = gear.add_meter(
                db, m.name, ids["scales", m.scale], *plate, who, now, self.id_for("meter", m.key)
            )
        for g in scenario.grinders:
            ids["grinders", g.key] = gear.add_grinder(db, g.name, who, now, self.id_for("grinder", g.key))
            self.add_setting(g.key, g.settings[0], who, now)
        first = scenario.grinders[0]
        self.methods = install_default_methods(db, who, now, ids["settings", first.settings[0]])

    def add_setting(self, grinder_key: str, name: str, who: Who, now: datetime) -> str:
        """One setting of a grinder."""
        made = gear.add_grinder_setting(
            self.db, self.ids["grinders", grinder_key], name, who, now, self.id_for("setting", grinder_key, name)
        )
        self.ids["settings", name] = made
        return made

    def add_product(self, product: Product, who: Who, now: datetime) -> None:
        """One product with version 1 of its targets."""
        self.ids["products", product.key] = products.add_product(
            self.db, product.name, product.short, self.ids["scales", product.scale], product.rule,
            product.confidence, self.method_of(product, "whole"), self.method_of(product, "ground"),
            bands(product), who, now, id=self.id_for("product", product.key),
        )  # fmt: skip

    def method_of(self, product: Product, kind: str) -> str | None:
        """The method for a kind, if the product is read by it."""
        return self.methods[kind] if kind in product.kinds() else None

    def change_burrs(self, who: Who, now: datetime) -> None:
        """New burrs: a line in the log, a new setting, and with it the next version of the method for ground coffee."""
        told, grinder = self.scenario.burrs, self.scenario.grinders[0]
        with write(self.db):
            grinder_log.add_event(
                self.db, self.id_for("burrs", grinder.key), self.ids["grinders", grinder.key], "burrs", None,
                told["note"], who, now,
            )  # fmt: skip
            setting = self.add_setting(grinder.key, told["setting"], who, now)
            self.set_grinder(grinder.key, told["setting"], who, now)
            old = methods.version_in_force(self.db, self.methods["ground"])
            new = methods.add_version(
                self.db, old.method_id, old.dish, old.planned_readings, old.planned_fills, setting, old.steps,
                told["reason"], who, now, self.id_for("method version", "ground", 2),
            )  # fmt: skip
            self.ground_versions = [old.id, new]

    def burr_sides(self) -> list[tuple[str, str]]:
        """(method version, setting) for ground coffee on the old burrs, and on the new ones."""
        names = self.scenario.grinders[0].settings[0], self.scenario.burrs["setting"]
        return list(zip(self.ground_versions, (self.ids["settings", name] for name in names), strict=True))


def bands(product: Product) -> list[TargetBand]:
    """The product's bands."""
    return [
        TargetBand(kind, *(None if value == 0 else value for value in getattr(product, kind)))
        for kind in KINDS if getattr(product, kind)
    ]  # fmt: skip
