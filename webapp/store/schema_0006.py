"""The sixth migration's SQL, frozen: decisions and corrections in full, blends, files taken in, keys for programs.

Masses are in grams; values and standard uncertainties in scale units. New columns are empty in every older row: a
record's hash leaves empty columns out.

decision also takes "remeasure" and "blend", with the role in which it was made, the decision it takes the place of
(`supersedes`), the customer of a concession, the blend that a batch goes into: its table is made anew, since SQLite
cannot change a CHECK. sample_move: a sample belongs to another batch than it was read for; sample.batch_id follows its
newest move, and nothing else (triggers.py). batch_correction, batch_correction_fact: a batch's facts were wrong; the
batch's row follows the newest word on each fact. result_change: what a correction did to a batch's result. blend: a
batch mixed from others (batch.blend is 1), with what was expected of it; blend_part_value: what was known of each part.
import_run: a file of older batches that was taken in; import_draft: one that is being looked at, gone afterwards.
api_token: a key with which a program may read; api_use: when it last did. batch_waiting: the batches that wait for
somebody, and why; derived.
"""

SQL = """
CREATE TABLE decision_anew (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  what TEXT NOT NULL CHECK (what IN ('release','hold','reject','concession','remeasure','blend')),
  reason TEXT NOT NULL DEFAULT '', verdict TEXT NOT NULL,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  role TEXT CHECK (role IN ('roaster','lead')), customer TEXT CHECK (length(customer) BETWEEN 1 AND 80),
  supersedes TEXT REFERENCES decision(id), blend_id TEXT REFERENCES blend(id),
  CHECK (what NOT IN ('concession','remeasure','blend') OR length(reason) > 0),
  CHECK ((what = 'blend') = (blend_id IS NOT NULL)), CHECK (customer IS NULL OR what = 'concession')
) STRICT;
INSERT INTO decision_anew SELECT *, NULL, NULL, NULL, NULL FROM decision ORDER BY rowid;
DROP TABLE decision;
ALTER TABLE decision_anew RENAME TO decision;
CREATE INDEX decision_by_batch ON decision(batch_id, received_at);

CREATE TABLE sample_move (
  id TEXT PRIMARY KEY, sample_id TEXT NOT NULL REFERENCES sample(id),
  from_batch_id TEXT NOT NULL REFERENCES batch(id), to_batch_id TEXT NOT NULL REFERENCES batch(id),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK (from_batch_id <> to_batch_id)
) STRICT;
CREATE INDEX sample_move_by_sample ON sample_move(sample_id);
CREATE INDEX sample_move_from ON sample_move(from_batch_id);

CREATE TABLE batch_correction (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;
CREATE INDEX batch_correction_by_batch ON batch_correction(batch_id);

CREATE TABLE batch_correction_fact (
  correction_id TEXT NOT NULL REFERENCES batch_correction(id),
  fact TEXT NOT NULL CHECK (fact IN ('code','product_id','machine_id','lot','green_g','roasted_g','drop_decicelsius',
    'total_s','development_s','note','day','roasted_at')),
  before ANY, after ANY, PRIMARY KEY (correction_id, fact), CHECK (before IS NOT after)
) STRICT;

CREATE TABLE result_change (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  cause TEXT NOT NULL CHECK (cause IN ('correction','sample_move','batch_correction')), cause_id TEXT NOT NULL,
  verdict_before TEXT, verdict_after TEXT, received_at TEXT NOT NULL, UNIQUE (cause_id, batch_id)
) STRICT;
CREATE INDEX result_change_by_batch ON result_change(batch_id);

CREATE TABLE result_change_part (
  change_id TEXT NOT NULL REFERENCES result_change(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value_before REAL, value_after REAL, verdict_before TEXT, verdict_after TEXT, PRIMARY KEY (change_id, kind)
) STRICT;

CREATE TABLE blend (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL UNIQUE REFERENCES batch(id),
  target_version_id TEXT NOT NULL REFERENCES target_version(id), confidence REAL NOT NULL,
  trial_g INTEGER CHECK (trial_g > 0), reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE blend_part (
  blend_id TEXT NOT NULL REFERENCES blend(id), batch_id TEXT NOT NULL REFERENCES batch(id),
  grams INTEGER NOT NULL CHECK (grams > 0), PRIMARY KEY (blend_id, batch_id)
) STRICT;
CREATE INDEX blend_part_by_batch ON blend_part(batch_id);

CREATE TABLE blend_part_value (
  blend_id TEXT NOT NULL, batch_id TEXT NOT NULL, kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL CHECK (u >= 0), PRIMARY KEY (blend_id, batch_id, kind),
  FOREIGN KEY (blend_id, batch_id) REFERENCES blend_part(blend_id, batch_id)
) STRICT;

CREATE TABLE blend_expected (
  blend_id TEXT NOT NULL REFERENCES blend(id), kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL CHECK (u >= 0), chance REAL, PRIMARY KEY (blend_id, kind)
) STRICT;

CREATE TABLE import_run (
  id TEXT PRIMARY KEY, file_name TEXT NOT NULL, sha256 TEXT NOT NULL, columns TEXT NOT NULL,
  rows INTEGER NOT NULL CHECK (rows >= 0), taken INTEGER NOT NULL CHECK (taken >= 0),
  known INTEGER NOT NULL CHECK (known >= 0), refused INTEGER NOT NULL CHECK (refused >= 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE import_draft (
  id TEXT PRIMARY KEY, file_name TEXT NOT NULL, content BLOB NOT NULL, choices TEXT NOT NULL DEFAULT '{}',
  person_id TEXT NOT NULL REFERENCES person(id), made_at TEXT NOT NULL
) STRICT;

CREATE TABLE api_token (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60), token_hash TEXT NOT NULL UNIQUE,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, revoked_at TEXT, revoked_by TEXT REFERENCES person(id)
) STRICT;

CREATE TABLE api_use (
  token_id TEXT PRIMARY KEY REFERENCES api_token(id), last_used_at TEXT NOT NULL, requests INTEGER NOT NULL
) STRICT;

CREATE TABLE batch_waiting (
  batch_id TEXT PRIMARY KEY REFERENCES batch(id),
  why TEXT NOT NULL CHECK (why IN ('undecided','outside','meter','hands','hold','remeasure','changed'))
) STRICT;

ALTER TABLE batch ADD COLUMN blend INTEGER CHECK (blend = 1);
ALTER TABLE batch ADD COLUMN import_id TEXT REFERENCES import_run(id);
ALTER TABLE batch ADD COLUMN import_row INTEGER;
ALTER TABLE sample ADD COLUMN import_id TEXT REFERENCES import_run(id)
"""
