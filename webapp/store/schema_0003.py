"""The third migration's SQL, frozen: meters, plates, grinders and methods under control, and comparisons.

Readings of a plate or of a compared coffee are integer hundredths of a scale unit, sieved masses integer hundredths of
a gram. The new columns of older tables are empty in every older row: a record's hash leaves empty columns out.

meter_rule: when a meter is to be checked, in versions. meter_check: readings of its plate, as found and, after an
adjustment, as left. look_back_entry: what became of a sample that was read before a failed check. grinder_event: the
log of a grinder. grind_check: how much of a ground sample passes a sieve. comparison and its tables: two meters,
grinders, settings or method versions (sides a and b) on the same coffees.
meter_check_result and the new columns of part_result and batch_result are derived.
"""

SQL = """
ALTER TABLE plate ADD COLUMN what TEXT CHECK (what IN ('replaced','damaged','reassigned'));

CREATE TABLE meter_rule (
  id TEXT PRIMARY KEY, meter_id TEXT NOT NULL REFERENCES meter(id), no INTEGER NOT NULL CHECK (no > 0),
  due TEXT NOT NULL CHECK (due IN ('never','shift','hours','samples')),
  every INTEGER CHECK (every BETWEEN 1 AND 10000), shift_starts TEXT NOT NULL DEFAULT '',
  warm_up_s INTEGER NOT NULL DEFAULT 0 CHECK (warm_up_s BETWEEN 0 AND 7200),
  planned_readings INTEGER NOT NULL DEFAULT 3 CHECK (planned_readings BETWEEN 1 AND 10),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL,
  UNIQUE (meter_id, no),
  CHECK ((due IN ('hours','samples')) = (every IS NOT NULL)), CHECK (due <> 'shift' OR length(shift_starts) > 0)
) STRICT;

CREATE TABLE meter_check (
  id TEXT PRIMARY KEY, meter_id TEXT NOT NULL REFERENCES meter(id), plate_id TEXT NOT NULL REFERENCES plate(id),
  plate_typed TEXT NOT NULL, adjusted INTEGER NOT NULL CHECK (adjusted IN (0,1)),
  note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER
) STRICT;
CREATE INDEX meter_check_by_meter ON meter_check(meter_id, made_at);

CREATE TABLE meter_check_reading (
  check_id TEXT NOT NULL REFERENCES meter_check(id), stage TEXT NOT NULL CHECK (stage IN ('found','left')),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (check_id, stage, no)
) STRICT;

CREATE TABLE meter_check_step (
  check_id TEXT NOT NULL REFERENCES meter_check(id),
  step TEXT NOT NULL CHECK (step IN ('warm','clean','plate','seat')), done_at TEXT NOT NULL,
  PRIMARY KEY (check_id, step)
) STRICT;

CREATE TABLE meter_check_result (
  check_id TEXT PRIMARY KEY REFERENCES meter_check(id), meter_id TEXT NOT NULL REFERENCES meter(id),
  made_at TEXT NOT NULL, found REAL NOT NULL, found_sd REAL, left_off REAL, tolerance REAL NOT NULL,
  passed INTEGER NOT NULL CHECK (passed IN (0,1)), proven INTEGER NOT NULL CHECK (proven IN (0,1))
) STRICT;
CREATE INDEX meter_check_result_by_meter ON meter_check_result(meter_id, made_at);

CREATE TABLE look_back_entry (
  id TEXT PRIMARY KEY, check_id TEXT NOT NULL REFERENCES meter_check(id),
  sample_id TEXT NOT NULL REFERENCES sample(id),
  what TEXT NOT NULL CHECK (what IN ('reread','accepted','held')),
  new_sample_id TEXT REFERENCES sample(id), reason TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK ((what = 'reread') = (new_sample_id IS NOT NULL)), CHECK (what = 'reread' OR length(reason) > 0)
) STRICT;
CREATE INDEX look_back_entry_by_sample ON look_back_entry(sample_id);
CREATE INDEX look_back_entry_by_check ON look_back_entry(check_id);
CREATE INDEX sample_by_meter ON sample(meter_id, made_at);

CREATE TABLE grinder_event (
  id TEXT PRIMARY KEY, grinder_id TEXT NOT NULL REFERENCES grinder(id),
  what TEXT NOT NULL CHECK (what IN ('setting','burrs','cleaned','aligned')),
  setting_id TEXT REFERENCES grinder_setting(id), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  CHECK ((what = 'setting') = (setting_id IS NOT NULL))
) STRICT;
CREATE INDEX grinder_event_by_grinder ON grinder_event(grinder_id, made_at);

CREATE TABLE grind_check (
  id TEXT PRIMARY KEY, grinder_id TEXT NOT NULL REFERENCES grinder(id),
  setting_id TEXT NOT NULL REFERENCES grinder_setting(id), coffee TEXT NOT NULL DEFAULT '',
  sieve_um INTEGER NOT NULL CHECK (sieve_um BETWEEN 1 AND 10000),
  total_cg INTEGER NOT NULL CHECK (total_cg > 0), passing_cg INTEGER NOT NULL CHECK (passing_cg >= 0),
  note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  CHECK (passing_cg <= total_cg)
) STRICT;
CREATE INDEX grind_check_by_grinder ON grind_check(grinder_id, made_at);

CREATE TABLE comparison (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
  what TEXT NOT NULL CHECK (what IN ('meters','grinders','settings','methods')),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')), scale_id TEXT NOT NULL REFERENCES scale(id),
  a_meter_id TEXT NOT NULL REFERENCES meter(id), b_meter_id TEXT NOT NULL REFERENCES meter(id),
  a_method_version_id TEXT NOT NULL REFERENCES method_version(id),
  b_method_version_id TEXT NOT NULL REFERENCES method_version(id),
  a_setting_id TEXT REFERENCES grinder_setting(id), b_setting_id TEXT REFERENCES grinder_setting(id),
  fills INTEGER NOT NULL CHECK (fills BETWEEN 1 AND 4), readings INTEGER NOT NULL CHECK (readings BETWEEN 1 AND 10),
  bound INTEGER NOT NULL CHECK (bound > 0), blind INTEGER NOT NULL CHECK (blind IN (0,1)),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE comparison_coffee (
  comparison_id TEXT NOT NULL REFERENCES comparison(id), no INTEGER NOT NULL CHECK (no > 0),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80), code TEXT NOT NULL,
  first TEXT NOT NULL CHECK (first IN ('a','b')),
  PRIMARY KEY (comparison_id, no), UNIQUE (comparison_id, code)
) STRICT;

CREATE TABLE comparison_sample (
  id TEXT PRIMARY KEY, comparison_id TEXT NOT NULL, coffee_no INTEGER NOT NULL,
  side TEXT NOT NULL CHECK (side IN ('a','b')), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  FOREIGN KEY (comparison_id, coffee_no) REFERENCES comparison_coffee(comparison_id, no)
) STRICT;
CREATE INDEX comparison_sample_by_comparison ON comparison_sample(comparison_id, coffee_no, side);

CREATE TABLE comparison_reading (
  sample_id TEXT NOT NULL REFERENCES comparison_sample(id), fill_no INTEGER NOT NULL CHECK (fill_no BETWEEN 1 AND 4),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (sample_id, fill_no, no)
) STRICT;

CREATE TABLE comparison_outcome (
  id TEXT PRIMARY KEY, comparison_id TEXT NOT NULL UNIQUE REFERENCES comparison(id),
  outcome TEXT NOT NULL CHECK (outcome IN ('carry','move','not_comparable')),
  coffees INTEGER NOT NULL, bias REAL NOT NULL, bias_give REAL NOT NULL,
  reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE comparison_target (
  outcome_id TEXT NOT NULL REFERENCES comparison_outcome(id),
  target_version_id TEXT NOT NULL REFERENCES target_version(id), product_id TEXT NOT NULL REFERENCES product(id),
  PRIMARY KEY (outcome_id, target_version_id)
) STRICT;

ALTER TABLE part_result ADD COLUMN meter_state TEXT;
ALTER TABLE part_result ADD COLUMN grinder_state TEXT;
ALTER TABLE part_result ADD COLUMN apart_why TEXT;
ALTER TABLE batch_result ADD COLUMN meter_state TEXT;
ALTER TABLE batch_result ADD COLUMN grinder_state TEXT
"""
