"""The fourth migration's SQL, frozen: precision studies, sign-offs of trainees, countersignatures.

Readings are integer hundredths of a scale unit; standard deviations, biases and limits are in scale units.

precision_study: one well-mixed coffee, filled and read by several people; precision_place: its fills in the order in
which they are read, each one person's; precision_fill: a fill that was read; precision_outcome: what a lead made of it.
comparison also takes two people (side a the reference, side b the trainee): its table is made anew for that, since
SQLite cannot change a CHECK. signoff: whether somebody's samples stand alone. countersignature: somebody signed off
stands behind a trainee's samples of a batch. routine_spread and batch_result.hands_state are derived. The word on a
sample of a look-back may come from a tablet's outbox now.
"""

SQL = """
CREATE TABLE comparison_anew (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
  what TEXT NOT NULL CHECK (what IN ('meters','grinders','settings','methods','people')),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')), scale_id TEXT NOT NULL REFERENCES scale(id),
  a_meter_id TEXT NOT NULL REFERENCES meter(id), b_meter_id TEXT NOT NULL REFERENCES meter(id),
  a_method_version_id TEXT NOT NULL REFERENCES method_version(id),
  b_method_version_id TEXT NOT NULL REFERENCES method_version(id),
  a_setting_id TEXT REFERENCES grinder_setting(id), b_setting_id TEXT REFERENCES grinder_setting(id),
  fills INTEGER NOT NULL CHECK (fills BETWEEN 1 AND 4), readings INTEGER NOT NULL CHECK (readings BETWEEN 1 AND 10),
  bound INTEGER NOT NULL CHECK (bound > 0), blind INTEGER NOT NULL CHECK (blind IN (0,1)),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  a_person_id TEXT REFERENCES person(id), b_person_id TEXT REFERENCES person(id),
  CHECK ((what = 'people') = (a_person_id IS NOT NULL)), CHECK ((what = 'people') = (b_person_id IS NOT NULL)),
  CHECK (a_person_id <> b_person_id)
) STRICT;
INSERT INTO comparison_anew SELECT *, NULL, NULL FROM comparison ORDER BY rowid;
DROP TABLE comparison;
ALTER TABLE comparison_anew RENAME TO comparison;

CREATE TABLE precision_study (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
  coffee TEXT NOT NULL CHECK (length(coffee) BETWEEN 1 AND 80),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  method_version_id TEXT NOT NULL REFERENCES method_version(id),
  scale_id TEXT NOT NULL REFERENCES scale(id), meter_id TEXT NOT NULL REFERENCES meter(id),
  fills INTEGER NOT NULL CHECK (fills BETWEEN 2 AND 20), readings INTEGER NOT NULL CHECK (readings BETWEEN 2 AND 10),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE precision_place (
  study_id TEXT NOT NULL REFERENCES precision_study(id), no INTEGER NOT NULL CHECK (no > 0),
  preparer_id TEXT NOT NULL REFERENCES person(id), fill_no INTEGER NOT NULL CHECK (fill_no > 0),
  PRIMARY KEY (study_id, no), UNIQUE (study_id, preparer_id, fill_no)
) STRICT;

CREATE TABLE precision_fill (
  id TEXT PRIMARY KEY, study_id TEXT NOT NULL, place_no INTEGER NOT NULL, note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  FOREIGN KEY (study_id, place_no) REFERENCES precision_place(study_id, no)
) STRICT;
CREATE INDEX precision_fill_by_study ON precision_fill(study_id, place_no);

CREATE TABLE precision_reading (
  fill_id TEXT NOT NULL REFERENCES precision_fill(id), no INTEGER NOT NULL CHECK (no > 0),
  value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (fill_id, no)
) STRICT;

CREATE TABLE precision_outcome (
  id TEXT PRIMARY KEY, study_id TEXT NOT NULL UNIQUE REFERENCES precision_study(id),
  outcome TEXT NOT NULL CHECK (outcome IN ('accepted','set_aside')),
  persons INTEGER NOT NULL, fills INTEGER NOT NULL, readings INTEGER NOT NULL,
  sigma_r REAL CHECK (sigma_r >= 0), df_r REAL, sigma_f REAL CHECK (sigma_f >= 0), df_f REAL,
  sigma_p REAL CHECK (sigma_p >= 0), reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK ((outcome = 'accepted') = (sigma_r IS NOT NULL)), CHECK ((outcome = 'accepted') = (sigma_f IS NOT NULL))
) STRICT;

CREATE TABLE signoff (
  id TEXT PRIMARY KEY, person_id TEXT NOT NULL REFERENCES person(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  what TEXT NOT NULL CHECK (what IN ('signed_off','not_yet','renewed','withdrawn')),
  comparison_id TEXT UNIQUE REFERENCES comparison(id),
  coffees INTEGER, bias REAL, bias_low REAL, bias_high REAL, bound REAL,
  spread REAL, spread_limit REAL, spread_df INTEGER,
  valid_until TEXT, reason TEXT NOT NULL DEFAULT '',
  signed_by TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK ((what IN ('signed_off','not_yet')) = (comparison_id IS NOT NULL)),
  CHECK (what = 'signed_off' OR length(reason) > 0)
) STRICT;
CREATE INDEX signoff_by_person ON signoff(person_id, kind, made_at);

CREATE TABLE countersignature (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER
) STRICT;
CREATE INDEX countersignature_by_batch ON countersignature(batch_id);

CREATE TABLE countersigned_sample (
  countersignature_id TEXT NOT NULL REFERENCES countersignature(id), sample_id TEXT NOT NULL REFERENCES sample(id),
  PRIMARY KEY (countersignature_id, sample_id)
) STRICT;
CREATE INDEX countersigned_sample_by_sample ON countersigned_sample(sample_id);

CREATE TABLE routine_spread (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), scale_id TEXT NOT NULL REFERENCES scale(id),
  month TEXT NOT NULL, person_id TEXT NOT NULL REFERENCES person(id),
  ss_r REAL NOT NULL, df_r INTEGER NOT NULL, ss_f REAL NOT NULL, df_f INTEGER NOT NULL,
  readings INTEGER NOT NULL, fills INTEGER NOT NULL, samples INTEGER NOT NULL, disagreeing INTEGER NOT NULL,
  PRIMARY KEY (method_version_id, scale_id, month, person_id)
) STRICT;
CREATE INDEX routine_spread_by_person ON routine_spread(person_id, month);

ALTER TABLE batch_result ADD COLUMN hands_state TEXT;

ALTER TABLE look_back_entry ADD COLUMN sent_by TEXT REFERENCES person(id);
ALTER TABLE look_back_entry ADD COLUMN claim_id TEXT REFERENCES person_claim(id);
ALTER TABLE look_back_entry ADD COLUMN tablet_clock TEXT;
ALTER TABLE look_back_entry ADD COLUMN tablet_seq INTEGER
"""
