CREATE TABLE api_token (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60), token_hash TEXT NOT NULL UNIQUE,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, revoked_at TEXT, revoked_by TEXT REFERENCES person(id)
) STRICT;

CREATE TABLE api_use (
  token_id TEXT PRIMARY KEY REFERENCES api_token(id), last_used_at TEXT NOT NULL, requests INTEGER NOT NULL
) STRICT;

CREATE TABLE batch (
  id TEXT PRIMARY KEY, code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 40),
  product_id TEXT NOT NULL REFERENCES product(id), machine_id TEXT NOT NULL REFERENCES machine(id),
  lot TEXT NOT NULL DEFAULT '', green_g INTEGER CHECK (green_g > 0),
  roasted_g INTEGER CHECK (roasted_g > 0), drop_decicelsius INTEGER,
  total_s INTEGER CHECK (total_s > 0), development_s INTEGER CHECK (development_s >= 0),
  note TEXT NOT NULL DEFAULT '', day TEXT NOT NULL, roasted_at TEXT NOT NULL,
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL, sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER, blend INTEGER CHECK (blend = 1), import_id TEXT REFERENCES import_run(id), import_row INTEGER,
  CHECK (roasted_g IS NULL OR green_g IS NULL OR roasted_g <= green_g)
) STRICT;

CREATE TABLE batch_correction (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE batch_correction_fact (
  correction_id TEXT NOT NULL REFERENCES batch_correction(id),
  fact TEXT NOT NULL CHECK (fact IN ('code','product_id','machine_id','lot','green_g','roasted_g','drop_decicelsius',
    'total_s','development_s','note','day','roasted_at')),
  before ANY, after ANY, PRIMARY KEY (correction_id, fact), CHECK (before IS NOT after)
) STRICT;

CREATE TABLE batch_result (
  batch_id TEXT PRIMARY KEY REFERENCES batch(id),
  verdict TEXT NOT NULL CHECK (verdict IN ('incomplete','inside','undecided','outside','unjudged')),
  chance REAL, missing TEXT NOT NULL DEFAULT ''
, meter_state TEXT, grinder_state TEXT, hands_state TEXT) STRICT;

CREATE TABLE batch_waiting (
  batch_id TEXT PRIMARY KEY REFERENCES batch(id),
  why TEXT NOT NULL CHECK (why IN ('undecided','outside','meter','hands','hold','remeasure','changed'))
) STRICT;

CREATE TABLE blend (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL UNIQUE REFERENCES batch(id),
  target_version_id TEXT NOT NULL REFERENCES target_version(id), confidence REAL NOT NULL,
  trial_g INTEGER CHECK (trial_g > 0), reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE blend_expected (
  blend_id TEXT NOT NULL REFERENCES blend(id), kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL CHECK (u >= 0), chance REAL, PRIMARY KEY (blend_id, kind)
) STRICT;

CREATE TABLE blend_part (
  blend_id TEXT NOT NULL REFERENCES blend(id), batch_id TEXT NOT NULL REFERENCES batch(id),
  grams INTEGER NOT NULL CHECK (grams > 0), PRIMARY KEY (blend_id, batch_id)
) STRICT;

CREATE TABLE blend_part_value (
  blend_id TEXT NOT NULL, batch_id TEXT NOT NULL, kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL CHECK (u >= 0), PRIMARY KEY (blend_id, batch_id, kind),
  FOREIGN KEY (blend_id, batch_id) REFERENCES blend_part(blend_id, batch_id)
) STRICT;

CREATE TABLE claim_confirmed (
  id TEXT PRIMARY KEY, claim_id TEXT NOT NULL REFERENCES person_claim(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), confirmed_at TEXT NOT NULL
) STRICT;

CREATE TABLE "comparison" (
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

CREATE TABLE comparison_coffee (
  comparison_id TEXT NOT NULL REFERENCES comparison(id), no INTEGER NOT NULL CHECK (no > 0),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80), code TEXT NOT NULL,
  first TEXT NOT NULL CHECK (first IN ('a','b')),
  PRIMARY KEY (comparison_id, no), UNIQUE (comparison_id, code)
) STRICT;

CREATE TABLE comparison_outcome (
  id TEXT PRIMARY KEY, comparison_id TEXT NOT NULL UNIQUE REFERENCES comparison(id),
  outcome TEXT NOT NULL CHECK (outcome IN ('carry','move','not_comparable')),
  coffees INTEGER NOT NULL, bias REAL NOT NULL, bias_give REAL NOT NULL,
  reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE comparison_reading (
  sample_id TEXT NOT NULL REFERENCES comparison_sample(id), fill_no INTEGER NOT NULL CHECK (fill_no BETWEEN 1 AND 4),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (sample_id, fill_no, no)
) STRICT;

CREATE TABLE comparison_sample (
  id TEXT PRIMARY KEY, comparison_id TEXT NOT NULL, coffee_no INTEGER NOT NULL,
  side TEXT NOT NULL CHECK (side IN ('a','b')), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  FOREIGN KEY (comparison_id, coffee_no) REFERENCES comparison_coffee(comparison_id, no)
) STRICT;

CREATE TABLE comparison_target (
  outcome_id TEXT NOT NULL REFERENCES comparison_outcome(id),
  target_version_id TEXT NOT NULL REFERENCES target_version(id), product_id TEXT NOT NULL REFERENCES product(id),
  PRIMARY KEY (outcome_id, target_version_id)
) STRICT;

CREATE TABLE correction (
  id TEXT PRIMARY KEY, sample_id TEXT NOT NULL, fill_no INTEGER NOT NULL, reading_no INTEGER NOT NULL,
  value INTEGER, reason TEXT NOT NULL CHECK (length(reason) > 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  FOREIGN KEY (sample_id, fill_no, reading_no) REFERENCES reading(sample_id, fill_no, no)
) STRICT;

CREATE TABLE countersignature (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER
) STRICT;

CREATE TABLE countersigned_sample (
  countersignature_id TEXT NOT NULL REFERENCES countersignature(id), sample_id TEXT NOT NULL REFERENCES sample(id),
  PRIMARY KEY (countersignature_id, sample_id)
) STRICT;

CREATE TABLE "decision" (
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

CREATE TABLE grinder (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;

CREATE TABLE grinder_event (
  id TEXT PRIMARY KEY, grinder_id TEXT NOT NULL REFERENCES grinder(id),
  what TEXT NOT NULL CHECK (what IN ('setting','burrs','cleaned','aligned')),
  setting_id TEXT REFERENCES grinder_setting(id), note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  CHECK ((what = 'setting') = (setting_id IS NOT NULL))
) STRICT;

CREATE TABLE grinder_setting (
  id TEXT PRIMARY KEY, grinder_id TEXT NOT NULL REFERENCES grinder(id),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60), created_at TEXT NOT NULL,
  UNIQUE (grinder_id, name)
) STRICT;

CREATE TABLE import_draft (
  id TEXT PRIMARY KEY, file_name TEXT NOT NULL, content BLOB NOT NULL, choices TEXT NOT NULL DEFAULT '{}',
  person_id TEXT NOT NULL REFERENCES person(id), made_at TEXT NOT NULL
) STRICT;

CREATE TABLE import_run (
  id TEXT PRIMARY KEY, file_name TEXT NOT NULL, sha256 TEXT NOT NULL, columns TEXT NOT NULL,
  rows INTEGER NOT NULL CHECK (rows >= 0), taken INTEGER NOT NULL CHECK (taken >= 0),
  known INTEGER NOT NULL CHECK (known >= 0), refused INTEGER NOT NULL CHECK (refused >= 0),
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE ledger (
  seq INTEGER PRIMARY KEY, at TEXT NOT NULL, person_id TEXT, tablet_id TEXT, action TEXT NOT NULL,
  kind TEXT NOT NULL, record_id TEXT NOT NULL, content_hash TEXT NOT NULL,
  previous_hash TEXT NOT NULL, hash TEXT NOT NULL
) STRICT;

CREATE TABLE look_back_entry (
  id TEXT PRIMARY KEY, check_id TEXT NOT NULL REFERENCES meter_check(id),
  sample_id TEXT NOT NULL REFERENCES sample(id),
  what TEXT NOT NULL CHECK (what IN ('reread','accepted','held')),
  new_sample_id TEXT REFERENCES sample(id), reason TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), tablet_id TEXT NOT NULL REFERENCES tablet(id),
  made_at TEXT NOT NULL, received_at TEXT NOT NULL, sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  CHECK ((what = 'reread') = (new_sample_id IS NOT NULL)), CHECK (what = 'reread' OR length(reason) > 0)
) STRICT;

CREATE TABLE machine (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;

CREATE TABLE meter (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  scale_id TEXT NOT NULL REFERENCES scale(id),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;

CREATE TABLE meter_check (
  id TEXT PRIMARY KEY, meter_id TEXT NOT NULL REFERENCES meter(id), plate_id TEXT NOT NULL REFERENCES plate(id),
  plate_typed TEXT NOT NULL, adjusted INTEGER NOT NULL CHECK (adjusted IN (0,1)),
  note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER
) STRICT;

CREATE TABLE meter_check_reading (
  check_id TEXT NOT NULL REFERENCES meter_check(id), stage TEXT NOT NULL CHECK (stage IN ('found','left')),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (check_id, stage, no)
) STRICT;

CREATE TABLE meter_check_result (
  check_id TEXT PRIMARY KEY REFERENCES meter_check(id), meter_id TEXT NOT NULL REFERENCES meter(id),
  made_at TEXT NOT NULL, found REAL NOT NULL, found_sd REAL, left_off REAL, tolerance REAL NOT NULL,
  passed INTEGER NOT NULL CHECK (passed IN (0,1)), proven INTEGER NOT NULL CHECK (proven IN (0,1))
) STRICT;

CREATE TABLE meter_check_step (
  check_id TEXT NOT NULL REFERENCES meter_check(id),
  step TEXT NOT NULL CHECK (step IN ('warm','clean','plate','seat')), done_at TEXT NOT NULL,
  PRIMARY KEY (check_id, step)
) STRICT;

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

CREATE TABLE method (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;

CREATE TABLE method_spread (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), scale_id TEXT NOT NULL REFERENCES scale(id),
  ss_r REAL NOT NULL, df_r INTEGER NOT NULL, ss_f REAL NOT NULL, df_f INTEGER NOT NULL,
  readings INTEGER NOT NULL, fills INTEGER NOT NULL,
  PRIMARY KEY (method_version_id, scale_id)
) STRICT;

CREATE TABLE method_step (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), no INTEGER NOT NULL CHECK (no > 0),
  title TEXT NOT NULL CHECK (length(title) > 0), body TEXT NOT NULL DEFAULT '', why TEXT NOT NULL DEFAULT '',
  done_label TEXT NOT NULL DEFAULT '', picture TEXT NOT NULL DEFAULT '', caution TEXT NOT NULL DEFAULT '',
  timer_s INTEGER CHECK (timer_s BETWEEN 1 AND 7200),
  note_label TEXT NOT NULL DEFAULT '', note_unit TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (method_version_id, no)
) STRICT;

CREATE TABLE method_version (
  id TEXT PRIMARY KEY, method_id TEXT NOT NULL REFERENCES method(id), no INTEGER NOT NULL CHECK (no > 0),
  dish TEXT NOT NULL DEFAULT '', planned_readings INTEGER NOT NULL CHECK (planned_readings BETWEEN 1 AND 10),
  planned_fills INTEGER NOT NULL CHECK (planned_fills BETWEEN 1 AND 4),
  grinder_setting_id TEXT REFERENCES grinder_setting(id),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL,
  UNIQUE (method_id, no)
) STRICT;

CREATE TABLE one_time_code (
  code_hash TEXT PRIMARY KEY, purpose TEXT NOT NULL CHECK (purpose IN ('setup','enrol')),
  made_by TEXT REFERENCES person(id), made_at TEXT NOT NULL, expires_at TEXT NOT NULL, used_at TEXT
) STRICT;

CREATE TABLE part_result (
  batch_id TEXT NOT NULL REFERENCES batch(id), kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value REAL NOT NULL, u REAL NOT NULL, fill_term REAL NOT NULL, reading_term REAL NOT NULL,
  step_term REAL NOT NULL, meter_term REAL NOT NULL,
  fills INTEGER NOT NULL, readings INTEGER NOT NULL, samples INTEGER NOT NULL,
  readings_disagree INTEGER NOT NULL, fills_disagree INTEGER NOT NULL, apart INTEGER NOT NULL,
  scale_id TEXT NOT NULL REFERENCES scale(id),
  target_version_id TEXT REFERENCES target_version(id), method_version_id TEXT REFERENCES method_version(id),
  sigma_r REAL, sigma_f REAL, sigma_source TEXT NOT NULL, u_meter_source TEXT NOT NULL,
  verdict TEXT CHECK (verdict IN ('inside','undecided','outside')),
  side TEXT CHECK (side IN ('lighter','darker')),
  chance REAL, position REAL, beyond REAL, settle_fills INTEGER, meter_state TEXT, grinder_state TEXT, apart_why TEXT,
  PRIMARY KEY (batch_id, kind)
) STRICT;

CREATE TABLE person (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  role TEXT NOT NULL CHECK (role IN ('trainee','roaster','lead')),
  pin_hash TEXT NOT NULL, active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)),
  auto_point INTEGER NOT NULL DEFAULT 0 CHECK (auto_point IN (0,1)),
  short_checklist INTEGER NOT NULL DEFAULT 0 CHECK (short_checklist IN (0,1)),
  created_at TEXT NOT NULL
) STRICT;

CREATE TABLE person_claim (
  id TEXT PRIMARY KEY, person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), sent_by TEXT NOT NULL REFERENCES person(id),
  claimed_at TEXT NOT NULL, tablet_clock TEXT, tablet_seq INTEGER, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE pin_guard (
  subject TEXT PRIMARY KEY, failures INTEGER NOT NULL, last_failed_at TEXT NOT NULL, locked_until TEXT
) STRICT;

CREATE TABLE plate (
  id TEXT PRIMARY KEY, meter_id TEXT NOT NULL REFERENCES meter(id), name TEXT NOT NULL,
  assigned INTEGER NOT NULL, tolerance INTEGER NOT NULL CHECK (tolerance > 0),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL
, what TEXT CHECK (what IN ('replaced','damaged','reassigned'))) STRICT;

CREATE TABLE precision_fill (
  id TEXT PRIMARY KEY, study_id TEXT NOT NULL, place_no INTEGER NOT NULL, note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER,
  FOREIGN KEY (study_id, place_no) REFERENCES precision_place(study_id, no)
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

CREATE TABLE precision_place (
  study_id TEXT NOT NULL REFERENCES precision_study(id), no INTEGER NOT NULL CHECK (no > 0),
  preparer_id TEXT NOT NULL REFERENCES person(id), fill_no INTEGER NOT NULL CHECK (fill_no > 0),
  PRIMARY KEY (study_id, no), UNIQUE (study_id, preparer_id, fill_no)
) STRICT;

CREATE TABLE precision_reading (
  fill_id TEXT NOT NULL REFERENCES precision_fill(id), no INTEGER NOT NULL CHECK (no > 0),
  value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (fill_id, no)
) STRICT;

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

CREATE TABLE product (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  short TEXT NOT NULL CHECK (length(short) BETWEEN 1 AND 4),
  active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0,1)), created_at TEXT NOT NULL
) STRICT;

CREATE TABLE reading (
  sample_id TEXT NOT NULL REFERENCES sample(id), fill_no INTEGER NOT NULL CHECK (fill_no BETWEEN 1 AND 4),
  no INTEGER NOT NULL CHECK (no > 0), value INTEGER NOT NULL, typed TEXT NOT NULL,
  void_reason TEXT NOT NULL DEFAULT '', confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0,1)),
  PRIMARY KEY (sample_id, fill_no, no)
) STRICT;

CREATE TABLE result_change (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  cause TEXT NOT NULL CHECK (cause IN ('correction','sample_move','batch_correction')), cause_id TEXT NOT NULL,
  verdict_before TEXT, verdict_after TEXT, received_at TEXT NOT NULL, UNIQUE (cause_id, batch_id)
) STRICT;

CREATE TABLE result_change_part (
  change_id TEXT NOT NULL REFERENCES result_change(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  value_before REAL, value_after REAL, verdict_before TEXT, verdict_after TEXT, PRIMARY KEY (change_id, kind)
) STRICT;

CREATE TABLE routine_spread (
  method_version_id TEXT NOT NULL REFERENCES method_version(id), scale_id TEXT NOT NULL REFERENCES scale(id),
  month TEXT NOT NULL, person_id TEXT NOT NULL REFERENCES person(id),
  ss_r REAL NOT NULL, df_r INTEGER NOT NULL, ss_f REAL NOT NULL, df_f INTEGER NOT NULL,
  readings INTEGER NOT NULL, fills INTEGER NOT NULL, samples INTEGER NOT NULL, disagreeing INTEGER NOT NULL,
  PRIMARY KEY (method_version_id, scale_id, month, person_id)
) STRICT;

CREATE TABLE sample (
  id TEXT PRIMARY KEY, batch_id TEXT NOT NULL REFERENCES batch(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground')),
  method_version_id TEXT NOT NULL REFERENCES method_version(id),
  target_version_id TEXT REFERENCES target_version(id),
  meter_id TEXT NOT NULL REFERENCES meter(id), plate_id TEXT REFERENCES plate(id),
  grinder_setting_id TEXT REFERENCES grinder_setting(id),
  checklist TEXT NOT NULL CHECK (checklist IN ('walked','short','page')),
  sigma_r REAL NOT NULL CHECK (sigma_r >= 0), sigma_f REAL NOT NULL CHECK (sigma_f >= 0),
  sigma_source TEXT NOT NULL CHECK (sigma_source IN ('study','routine','assumed')),
  u_meter REAL NOT NULL CHECK (u_meter >= 0),
  u_meter_source TEXT NOT NULL CHECK (u_meter_source IN ('checks','assumed')),
  note TEXT NOT NULL DEFAULT '',
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
, sent_by TEXT REFERENCES person(id), claim_id TEXT REFERENCES person_claim(id), tablet_clock TEXT, tablet_seq INTEGER, import_id TEXT REFERENCES import_run(id)) STRICT;

CREATE TABLE sample_move (
  id TEXT PRIMARY KEY, sample_id TEXT NOT NULL REFERENCES sample(id),
  from_batch_id TEXT NOT NULL REFERENCES batch(id), to_batch_id TEXT NOT NULL REFERENCES batch(id),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK (from_batch_id <> to_batch_id)
) STRICT;

CREATE TABLE scale (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  lower INTEGER NOT NULL, upper INTEGER NOT NULL, step INTEGER NOT NULL CHECK (step > 0),
  lighter INTEGER NOT NULL CHECK (lighter IN (-1, 1)), created_at TEXT NOT NULL,
  CHECK (upper > lower)
) STRICT;

CREATE TABLE session (
  token_hash TEXT PRIMARY KEY, person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id),
  started_at TEXT NOT NULL, last_seen_at TEXT NOT NULL, ends_at TEXT NOT NULL,
  confirmed_at TEXT, ended_at TEXT
) STRICT;

CREATE TABLE signal_note (
  id TEXT PRIMARY KEY, product_id TEXT NOT NULL REFERENCES product(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  batch_id TEXT NOT NULL REFERENCES batch(id), rule INTEGER NOT NULL CHECK (rule BETWEEN 0 AND 4),
  side TEXT NOT NULL CHECK (side IN ('lighter','darker')),
  cause TEXT NOT NULL CHECK (cause IN
    ('unknown','coffee','roast','machine','grinder','meter','preparation','surroundings','mix_up','chance','other')),
  note TEXT NOT NULL DEFAULT '', done TEXT NOT NULL DEFAULT '', closed INTEGER NOT NULL CHECK (closed IN (0,1)),
  person_id TEXT NOT NULL REFERENCES person(id), role TEXT NOT NULL,
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK (closed = 0 OR cause <> 'unknown'), CHECK (length(note) > 0 OR length(done) > 0 OR cause <> 'unknown')
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

CREATE TABLE site (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL, time_zone TEXT NOT NULL,
  idle_minutes INTEGER NOT NULL DEFAULT 10 CHECK (idle_minutes BETWEEN 1 AND 120),
  shift_hours INTEGER NOT NULL DEFAULT 12 CHECK (shift_hours BETWEEN 1 AND 24)
) STRICT;

CREATE TABLE step_done (
  sample_id TEXT NOT NULL REFERENCES sample(id), step_no INTEGER NOT NULL,
  done_at TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (sample_id, step_no)
) STRICT;

CREATE TABLE tablet (
  id TEXT PRIMARY KEY, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  secret_hash TEXT NOT NULL UNIQUE, enrolled_at TEXT NOT NULL,
  enrolled_by TEXT REFERENCES person(id), revoked_at TEXT
) STRICT;

CREATE TABLE target_band (
  target_version_id TEXT NOT NULL REFERENCES target_version(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  lower INTEGER, centre INTEGER NOT NULL, upper INTEGER,
  PRIMARY KEY (target_version_id, kind),
  CHECK (lower IS NOT NULL OR upper IS NOT NULL),
  CHECK (lower IS NULL OR lower < centre), CHECK (upper IS NULL OR upper > centre)
) STRICT;

CREATE TABLE target_version (
  id TEXT PRIMARY KEY, product_id TEXT NOT NULL REFERENCES product(id), no INTEGER NOT NULL CHECK (no > 0),
  scale_id TEXT NOT NULL REFERENCES scale(id),
  rule TEXT NOT NULL CHECK (rule IN ('guarded','simple')),
  confidence REAL NOT NULL CHECK (confidence > 0.5 AND confidence < 1),
  whole_method_id TEXT REFERENCES method(id), ground_method_id TEXT REFERENCES method(id),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT REFERENCES person(id), made_at TEXT NOT NULL,
  UNIQUE (product_id, no)
) STRICT;

CREATE TABLE trend_baseline (
  id TEXT PRIMARY KEY, product_id TEXT NOT NULL REFERENCES product(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  scale_id TEXT NOT NULL REFERENCES scale(id), method_version_id TEXT NOT NULL REFERENCES method_version(id),
  what TEXT NOT NULL CHECK (what IN ('frozen','given_up')),
  first_batch_id TEXT REFERENCES batch(id), last_batch_id TEXT REFERENCES batch(id),
  batches INTEGER CHECK (batches >= 20), centre REAL, sigma REAL CHECK (sigma > 0),
  reason TEXT NOT NULL DEFAULT '', person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL,
  CHECK ((what = 'frozen') = (first_batch_id IS NOT NULL)), CHECK ((what = 'frozen') = (last_batch_id IS NOT NULL)),
  CHECK ((what = 'frozen') = (batches IS NOT NULL)), CHECK ((what = 'frozen') = (centre IS NOT NULL)),
  CHECK ((what = 'frozen') = (sigma IS NOT NULL)), CHECK (what = 'frozen' OR length(reason) > 0)
) STRICT;

CREATE TABLE trend_rules (
  id TEXT PRIMARY KEY,
  rules TEXT NOT NULL CHECK (rules IN ('1','12','13','14','123','124','134','1234')),
  average INTEGER NOT NULL CHECK (average IN (0,1)),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE trend_state (
  product_id TEXT NOT NULL REFERENCES product(id),
  kind TEXT NOT NULL CHECK (kind IN ('whole','ground','difference')),
  scale_id TEXT NOT NULL REFERENCES scale(id), method_version_id TEXT NOT NULL REFERENCES method_version(id),
  batches INTEGER NOT NULL CHECK (batches > 0), looked_at INTEGER NOT NULL, first_roasted_at TEXT NOT NULL,
  last_batch_id TEXT NOT NULL REFERENCES batch(id), last_roasted_at TEXT NOT NULL,
  baseline_id TEXT REFERENCES trend_baseline(id), missing INTEGER NOT NULL CHECK (missing >= 0),
  word TEXT NOT NULL CHECK (word IN ('too_few','leave','changed','cannot_hold','off_centre')),
  rule INTEGER CHECK (rule BETWEEN 0 AND 4), point_batch_id TEXT REFERENCES batch(id),
  since_batch_id TEXT REFERENCES batch(id), side TEXT CHECK (side IN ('lighter','darker')),
  sure INTEGER NOT NULL CHECK (sure IN (0,1)),
  centre REAL NOT NULL, sigma REAL, lean REAL, cp REAL, cpk REAL, judged INTEGER NOT NULL, outside INTEGER NOT NULL,
  PRIMARY KEY (product_id, kind), CHECK ((word = 'changed') = (rule IS NOT NULL))
) STRICT
;

CREATE TABLE upkeep (
  what TEXT PRIMARY KEY CHECK (what IN ('backup','trial','check')), at TEXT NOT NULL,
  well INTEGER NOT NULL CHECK (well IN (0,1)), lines INTEGER, said TEXT NOT NULL DEFAULT ''
) STRICT
;

CREATE INDEX batch_by_code ON batch(code);

CREATE INDEX batch_by_day ON batch(day, roasted_at);

CREATE INDEX batch_by_product ON batch(product_id, roasted_at);

CREATE INDEX batch_correction_by_batch ON batch_correction(batch_id);

CREATE INDEX blend_part_by_batch ON blend_part(batch_id);

CREATE INDEX claim_confirmed_by_claim ON claim_confirmed(claim_id, confirmed_at);

CREATE INDEX comparison_sample_by_comparison ON comparison_sample(comparison_id, coffee_no, side);

CREATE INDEX correction_by_sample ON correction(sample_id);

CREATE INDEX countersignature_by_batch ON countersignature(batch_id);

CREATE INDEX countersigned_sample_by_sample ON countersigned_sample(sample_id);

CREATE INDEX decision_by_batch ON decision(batch_id, received_at);

CREATE INDEX grind_check_by_grinder ON grind_check(grinder_id, made_at);

CREATE INDEX grinder_event_by_grinder ON grinder_event(grinder_id, made_at);

CREATE INDEX ledger_by_record ON ledger(kind, record_id, seq)
;

CREATE INDEX look_back_entry_by_check ON look_back_entry(check_id);

CREATE INDEX look_back_entry_by_sample ON look_back_entry(sample_id);

CREATE INDEX meter_check_by_meter ON meter_check(meter_id, made_at);

CREATE INDEX meter_check_result_by_meter ON meter_check_result(meter_id, made_at);

CREATE INDEX plate_by_meter ON plate(meter_id, made_at);

CREATE INDEX precision_fill_by_study ON precision_fill(study_id, place_no);

CREATE INDEX result_change_by_batch ON result_change(batch_id);

CREATE INDEX routine_spread_by_person ON routine_spread(person_id, month);

CREATE INDEX sample_by_batch ON sample(batch_id, kind);

CREATE INDEX sample_by_meter ON sample(meter_id, made_at);

CREATE INDEX sample_move_by_sample ON sample_move(sample_id);

CREATE INDEX sample_move_from ON sample_move(from_batch_id);

CREATE INDEX session_by_person ON session(person_id, ended_at);

CREATE INDEX session_by_tablet ON session(tablet_id, ended_at);

CREATE INDEX signal_note_by_product ON signal_note(product_id, kind);

CREATE INDEX signoff_by_person ON signoff(person_id, kind, made_at);

CREATE INDEX trend_baseline_by_product ON trend_baseline(product_id, kind);

CREATE TRIGGER batch_correction_fact_no_delete BEFORE DELETE ON batch_correction_fact BEGIN SELECT RAISE(ABORT, 'batch_correction_fact is append-only'); END;

CREATE TRIGGER batch_correction_fact_no_replace BEFORE INSERT ON batch_correction_fact WHEN EXISTS (SELECT 1 FROM batch_correction_fact WHERE correction_id = NEW.correction_id AND fact = NEW.fact) BEGIN SELECT RAISE(ABORT, 'batch_correction_fact is append-only'); END;

CREATE TRIGGER batch_correction_fact_no_update BEFORE UPDATE ON batch_correction_fact BEGIN SELECT RAISE(ABORT, 'batch_correction_fact is append-only'); END;

CREATE TRIGGER batch_correction_no_delete BEFORE DELETE ON batch_correction BEGIN SELECT RAISE(ABORT, 'batch_correction is append-only'); END;

CREATE TRIGGER batch_correction_no_replace BEFORE INSERT ON batch_correction WHEN EXISTS (SELECT 1 FROM batch_correction WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'batch_correction is append-only'); END;

CREATE TRIGGER batch_correction_no_update BEFORE UPDATE ON batch_correction BEGIN SELECT RAISE(ABORT, 'batch_correction is append-only'); END;

CREATE TRIGGER batch_no_delete BEFORE DELETE ON batch BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;

CREATE TRIGGER batch_no_replace BEFORE INSERT ON batch WHEN EXISTS (SELECT 1 FROM batch WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;

CREATE TRIGGER batch_no_update BEFORE UPDATE ON batch WHEN NEW.code IS OLD.code AND NEW.product_id IS OLD.product_id AND NEW.machine_id IS OLD.machine_id AND NEW.lot IS OLD.lot AND NEW.green_g IS OLD.green_g AND NEW.roasted_g IS OLD.roasted_g AND NEW.drop_decicelsius IS OLD.drop_decicelsius AND NEW.total_s IS OLD.total_s AND NEW.development_s IS OLD.development_s AND NEW.note IS OLD.note AND NEW.day IS OLD.day AND NEW.roasted_at IS OLD.roasted_at OR NEW.id IS NOT OLD.id OR NEW.person_id IS NOT OLD.person_id OR NEW.tablet_id IS NOT OLD.tablet_id OR NEW.made_at IS NOT OLD.made_at OR NEW.received_at IS NOT OLD.received_at OR NEW.sent_by IS NOT OLD.sent_by OR NEW.claim_id IS NOT OLD.claim_id OR NEW.tablet_clock IS NOT OLD.tablet_clock OR NEW.tablet_seq IS NOT OLD.tablet_seq OR NEW.blend IS NOT OLD.blend OR NEW.import_id IS NOT OLD.import_id OR NEW.import_row IS NOT OLD.import_row OR (NEW.code IS NOT OLD.code AND NEW.code IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'code' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.product_id IS NOT OLD.product_id AND NEW.product_id IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'product_id' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.machine_id IS NOT OLD.machine_id AND NEW.machine_id IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'machine_id' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.lot IS NOT OLD.lot AND NEW.lot IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'lot' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.green_g IS NOT OLD.green_g AND NEW.green_g IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'green_g' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.roasted_g IS NOT OLD.roasted_g AND NEW.roasted_g IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'roasted_g' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.drop_decicelsius IS NOT OLD.drop_decicelsius AND NEW.drop_decicelsius IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'drop_decicelsius' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.total_s IS NOT OLD.total_s AND NEW.total_s IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'total_s' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.development_s IS NOT OLD.development_s AND NEW.development_s IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'development_s' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.note IS NOT OLD.note AND NEW.note IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'note' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.day IS NOT OLD.day AND NEW.day IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'day' ORDER BY c.rowid DESC LIMIT 1)) OR (NEW.roasted_at IS NOT OLD.roasted_at AND NEW.roasted_at IS NOT (SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id WHERE c.batch_id = NEW.id AND f.fact = 'roasted_at' ORDER BY c.rowid DESC LIMIT 1)) BEGIN SELECT RAISE(ABORT, 'batch is append-only'); END;

CREATE TRIGGER blend_expected_no_delete BEFORE DELETE ON blend_expected BEGIN SELECT RAISE(ABORT, 'blend_expected is append-only'); END;

CREATE TRIGGER blend_expected_no_replace BEFORE INSERT ON blend_expected WHEN EXISTS (SELECT 1 FROM blend_expected WHERE blend_id = NEW.blend_id AND kind = NEW.kind) BEGIN SELECT RAISE(ABORT, 'blend_expected is append-only'); END;

CREATE TRIGGER blend_expected_no_update BEFORE UPDATE ON blend_expected BEGIN SELECT RAISE(ABORT, 'blend_expected is append-only'); END;

CREATE TRIGGER blend_no_delete BEFORE DELETE ON blend BEGIN SELECT RAISE(ABORT, 'blend is append-only'); END;

CREATE TRIGGER blend_no_replace BEFORE INSERT ON blend WHEN EXISTS (SELECT 1 FROM blend WHERE id = NEW.id OR batch_id = NEW.batch_id) BEGIN SELECT RAISE(ABORT, 'blend is append-only'); END;

CREATE TRIGGER blend_no_update BEFORE UPDATE ON blend BEGIN SELECT RAISE(ABORT, 'blend is append-only'); END;

CREATE TRIGGER blend_part_no_delete BEFORE DELETE ON blend_part BEGIN SELECT RAISE(ABORT, 'blend_part is append-only'); END;

CREATE TRIGGER blend_part_no_replace BEFORE INSERT ON blend_part WHEN EXISTS (SELECT 1 FROM blend_part WHERE blend_id = NEW.blend_id AND batch_id = NEW.batch_id) BEGIN SELECT RAISE(ABORT, 'blend_part is append-only'); END;

CREATE TRIGGER blend_part_no_update BEFORE UPDATE ON blend_part BEGIN SELECT RAISE(ABORT, 'blend_part is append-only'); END;

CREATE TRIGGER blend_part_value_no_delete BEFORE DELETE ON blend_part_value BEGIN SELECT RAISE(ABORT, 'blend_part_value is append-only'); END;

CREATE TRIGGER blend_part_value_no_replace BEFORE INSERT ON blend_part_value WHEN EXISTS (SELECT 1 FROM blend_part_value WHERE blend_id = NEW.blend_id AND batch_id = NEW.batch_id AND kind = NEW.kind) BEGIN SELECT RAISE(ABORT, 'blend_part_value is append-only'); END;

CREATE TRIGGER blend_part_value_no_update BEFORE UPDATE ON blend_part_value BEGIN SELECT RAISE(ABORT, 'blend_part_value is append-only'); END;

CREATE TRIGGER claim_confirmed_no_delete BEFORE DELETE ON claim_confirmed BEGIN SELECT RAISE(ABORT, 'claim_confirmed is append-only'); END;

CREATE TRIGGER claim_confirmed_no_replace BEFORE INSERT ON claim_confirmed WHEN EXISTS (SELECT 1 FROM claim_confirmed WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'claim_confirmed is append-only'); END;

CREATE TRIGGER claim_confirmed_no_update BEFORE UPDATE ON claim_confirmed BEGIN SELECT RAISE(ABORT, 'claim_confirmed is append-only'); END;

CREATE TRIGGER comparison_coffee_no_delete BEFORE DELETE ON comparison_coffee BEGIN SELECT RAISE(ABORT, 'comparison_coffee is append-only'); END;

CREATE TRIGGER comparison_coffee_no_replace BEFORE INSERT ON comparison_coffee WHEN EXISTS (SELECT 1 FROM comparison_coffee WHERE comparison_id = NEW.comparison_id AND no = NEW.no OR comparison_id = NEW.comparison_id AND code = NEW.code) BEGIN SELECT RAISE(ABORT, 'comparison_coffee is append-only'); END;

CREATE TRIGGER comparison_coffee_no_update BEFORE UPDATE ON comparison_coffee BEGIN SELECT RAISE(ABORT, 'comparison_coffee is append-only'); END;

CREATE TRIGGER comparison_no_delete BEFORE DELETE ON comparison BEGIN SELECT RAISE(ABORT, 'comparison is append-only'); END;

CREATE TRIGGER comparison_no_replace BEFORE INSERT ON comparison WHEN EXISTS (SELECT 1 FROM comparison WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'comparison is append-only'); END;

CREATE TRIGGER comparison_no_update BEFORE UPDATE ON comparison BEGIN SELECT RAISE(ABORT, 'comparison is append-only'); END;

CREATE TRIGGER comparison_outcome_no_delete BEFORE DELETE ON comparison_outcome BEGIN SELECT RAISE(ABORT, 'comparison_outcome is append-only'); END;

CREATE TRIGGER comparison_outcome_no_replace BEFORE INSERT ON comparison_outcome WHEN EXISTS (SELECT 1 FROM comparison_outcome WHERE id = NEW.id OR comparison_id = NEW.comparison_id) BEGIN SELECT RAISE(ABORT, 'comparison_outcome is append-only'); END;

CREATE TRIGGER comparison_outcome_no_update BEFORE UPDATE ON comparison_outcome BEGIN SELECT RAISE(ABORT, 'comparison_outcome is append-only'); END;

CREATE TRIGGER comparison_reading_no_delete BEFORE DELETE ON comparison_reading BEGIN SELECT RAISE(ABORT, 'comparison_reading is append-only'); END;

CREATE TRIGGER comparison_reading_no_replace BEFORE INSERT ON comparison_reading WHEN EXISTS (SELECT 1 FROM comparison_reading WHERE sample_id = NEW.sample_id AND fill_no = NEW.fill_no AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'comparison_reading is append-only'); END;

CREATE TRIGGER comparison_reading_no_update BEFORE UPDATE ON comparison_reading BEGIN SELECT RAISE(ABORT, 'comparison_reading is append-only'); END;

CREATE TRIGGER comparison_sample_no_delete BEFORE DELETE ON comparison_sample BEGIN SELECT RAISE(ABORT, 'comparison_sample is append-only'); END;

CREATE TRIGGER comparison_sample_no_replace BEFORE INSERT ON comparison_sample WHEN EXISTS (SELECT 1 FROM comparison_sample WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'comparison_sample is append-only'); END;

CREATE TRIGGER comparison_sample_no_update BEFORE UPDATE ON comparison_sample BEGIN SELECT RAISE(ABORT, 'comparison_sample is append-only'); END;

CREATE TRIGGER comparison_target_no_delete BEFORE DELETE ON comparison_target BEGIN SELECT RAISE(ABORT, 'comparison_target is append-only'); END;

CREATE TRIGGER comparison_target_no_replace BEFORE INSERT ON comparison_target WHEN EXISTS (SELECT 1 FROM comparison_target WHERE outcome_id = NEW.outcome_id AND target_version_id = NEW.target_version_id) BEGIN SELECT RAISE(ABORT, 'comparison_target is append-only'); END;

CREATE TRIGGER comparison_target_no_update BEFORE UPDATE ON comparison_target BEGIN SELECT RAISE(ABORT, 'comparison_target is append-only'); END;

CREATE TRIGGER correction_no_delete BEFORE DELETE ON correction BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;

CREATE TRIGGER correction_no_replace BEFORE INSERT ON correction WHEN EXISTS (SELECT 1 FROM correction WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;

CREATE TRIGGER correction_no_update BEFORE UPDATE ON correction BEGIN SELECT RAISE(ABORT, 'correction is append-only'); END;

CREATE TRIGGER countersignature_no_delete BEFORE DELETE ON countersignature BEGIN SELECT RAISE(ABORT, 'countersignature is append-only'); END;

CREATE TRIGGER countersignature_no_replace BEFORE INSERT ON countersignature WHEN EXISTS (SELECT 1 FROM countersignature WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'countersignature is append-only'); END;

CREATE TRIGGER countersignature_no_update BEFORE UPDATE ON countersignature BEGIN SELECT RAISE(ABORT, 'countersignature is append-only'); END;

CREATE TRIGGER countersigned_sample_no_delete BEFORE DELETE ON countersigned_sample BEGIN SELECT RAISE(ABORT, 'countersigned_sample is append-only'); END;

CREATE TRIGGER countersigned_sample_no_replace BEFORE INSERT ON countersigned_sample WHEN EXISTS (SELECT 1 FROM countersigned_sample WHERE countersignature_id = NEW.countersignature_id AND sample_id = NEW.sample_id) BEGIN SELECT RAISE(ABORT, 'countersigned_sample is append-only'); END;

CREATE TRIGGER countersigned_sample_no_update BEFORE UPDATE ON countersigned_sample BEGIN SELECT RAISE(ABORT, 'countersigned_sample is append-only'); END;

CREATE TRIGGER decision_no_delete BEFORE DELETE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;

CREATE TRIGGER decision_no_replace BEFORE INSERT ON decision WHEN EXISTS (SELECT 1 FROM decision WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;

CREATE TRIGGER decision_no_update BEFORE UPDATE ON decision BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END;

CREATE TRIGGER grind_check_no_delete BEFORE DELETE ON grind_check BEGIN SELECT RAISE(ABORT, 'grind_check is append-only'); END;

CREATE TRIGGER grind_check_no_replace BEFORE INSERT ON grind_check WHEN EXISTS (SELECT 1 FROM grind_check WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'grind_check is append-only'); END;

CREATE TRIGGER grind_check_no_update BEFORE UPDATE ON grind_check BEGIN SELECT RAISE(ABORT, 'grind_check is append-only'); END;

CREATE TRIGGER grinder_event_no_delete BEFORE DELETE ON grinder_event BEGIN SELECT RAISE(ABORT, 'grinder_event is append-only'); END;

CREATE TRIGGER grinder_event_no_replace BEFORE INSERT ON grinder_event WHEN EXISTS (SELECT 1 FROM grinder_event WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'grinder_event is append-only'); END;

CREATE TRIGGER grinder_event_no_update BEFORE UPDATE ON grinder_event BEGIN SELECT RAISE(ABORT, 'grinder_event is append-only'); END;

CREATE TRIGGER grinder_setting_no_delete BEFORE DELETE ON grinder_setting BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;

CREATE TRIGGER grinder_setting_no_replace BEFORE INSERT ON grinder_setting WHEN EXISTS (SELECT 1 FROM grinder_setting WHERE id = NEW.id OR grinder_id = NEW.grinder_id AND name = NEW.name) BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;

CREATE TRIGGER grinder_setting_no_update BEFORE UPDATE ON grinder_setting BEGIN SELECT RAISE(ABORT, 'grinder_setting is append-only'); END;

CREATE TRIGGER import_run_no_delete BEFORE DELETE ON import_run BEGIN SELECT RAISE(ABORT, 'import_run is append-only'); END;

CREATE TRIGGER import_run_no_replace BEFORE INSERT ON import_run WHEN EXISTS (SELECT 1 FROM import_run WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'import_run is append-only'); END;

CREATE TRIGGER import_run_no_update BEFORE UPDATE ON import_run BEGIN SELECT RAISE(ABORT, 'import_run is append-only'); END;

CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;

CREATE TRIGGER ledger_no_replace BEFORE INSERT ON ledger WHEN EXISTS (SELECT 1 FROM ledger WHERE seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;

CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END;

CREATE TRIGGER look_back_entry_no_delete BEFORE DELETE ON look_back_entry BEGIN SELECT RAISE(ABORT, 'look_back_entry is append-only'); END;

CREATE TRIGGER look_back_entry_no_replace BEFORE INSERT ON look_back_entry WHEN EXISTS (SELECT 1 FROM look_back_entry WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'look_back_entry is append-only'); END;

CREATE TRIGGER look_back_entry_no_update BEFORE UPDATE ON look_back_entry BEGIN SELECT RAISE(ABORT, 'look_back_entry is append-only'); END;

CREATE TRIGGER meter_check_no_delete BEFORE DELETE ON meter_check BEGIN SELECT RAISE(ABORT, 'meter_check is append-only'); END;

CREATE TRIGGER meter_check_no_replace BEFORE INSERT ON meter_check WHEN EXISTS (SELECT 1 FROM meter_check WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'meter_check is append-only'); END;

CREATE TRIGGER meter_check_no_update BEFORE UPDATE ON meter_check BEGIN SELECT RAISE(ABORT, 'meter_check is append-only'); END;

CREATE TRIGGER meter_check_reading_no_delete BEFORE DELETE ON meter_check_reading BEGIN SELECT RAISE(ABORT, 'meter_check_reading is append-only'); END;

CREATE TRIGGER meter_check_reading_no_replace BEFORE INSERT ON meter_check_reading WHEN EXISTS (SELECT 1 FROM meter_check_reading WHERE check_id = NEW.check_id AND stage = NEW.stage AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'meter_check_reading is append-only'); END;

CREATE TRIGGER meter_check_reading_no_update BEFORE UPDATE ON meter_check_reading BEGIN SELECT RAISE(ABORT, 'meter_check_reading is append-only'); END;

CREATE TRIGGER meter_check_step_no_delete BEFORE DELETE ON meter_check_step BEGIN SELECT RAISE(ABORT, 'meter_check_step is append-only'); END;

CREATE TRIGGER meter_check_step_no_replace BEFORE INSERT ON meter_check_step WHEN EXISTS (SELECT 1 FROM meter_check_step WHERE check_id = NEW.check_id AND step = NEW.step) BEGIN SELECT RAISE(ABORT, 'meter_check_step is append-only'); END;

CREATE TRIGGER meter_check_step_no_update BEFORE UPDATE ON meter_check_step BEGIN SELECT RAISE(ABORT, 'meter_check_step is append-only'); END;

CREATE TRIGGER meter_rule_no_delete BEFORE DELETE ON meter_rule BEGIN SELECT RAISE(ABORT, 'meter_rule is append-only'); END;

CREATE TRIGGER meter_rule_no_replace BEFORE INSERT ON meter_rule WHEN EXISTS (SELECT 1 FROM meter_rule WHERE id = NEW.id OR meter_id = NEW.meter_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'meter_rule is append-only'); END;

CREATE TRIGGER meter_rule_no_update BEFORE UPDATE ON meter_rule BEGIN SELECT RAISE(ABORT, 'meter_rule is append-only'); END;

CREATE TRIGGER method_step_no_delete BEFORE DELETE ON method_step BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;

CREATE TRIGGER method_step_no_replace BEFORE INSERT ON method_step WHEN EXISTS (SELECT 1 FROM method_step WHERE method_version_id = NEW.method_version_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;

CREATE TRIGGER method_step_no_update BEFORE UPDATE ON method_step BEGIN SELECT RAISE(ABORT, 'method_step is append-only'); END;

CREATE TRIGGER method_version_no_delete BEFORE DELETE ON method_version BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;

CREATE TRIGGER method_version_no_replace BEFORE INSERT ON method_version WHEN EXISTS (SELECT 1 FROM method_version WHERE id = NEW.id OR method_id = NEW.method_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;

CREATE TRIGGER method_version_no_update BEFORE UPDATE ON method_version BEGIN SELECT RAISE(ABORT, 'method_version is append-only'); END;

CREATE TRIGGER person_claim_no_delete BEFORE DELETE ON person_claim BEGIN SELECT RAISE(ABORT, 'person_claim is append-only'); END;

CREATE TRIGGER person_claim_no_replace BEFORE INSERT ON person_claim WHEN EXISTS (SELECT 1 FROM person_claim WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'person_claim is append-only'); END;

CREATE TRIGGER person_claim_no_update BEFORE UPDATE ON person_claim BEGIN SELECT RAISE(ABORT, 'person_claim is append-only'); END;

CREATE TRIGGER plate_no_delete BEFORE DELETE ON plate BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;

CREATE TRIGGER plate_no_replace BEFORE INSERT ON plate WHEN EXISTS (SELECT 1 FROM plate WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;

CREATE TRIGGER plate_no_update BEFORE UPDATE ON plate BEGIN SELECT RAISE(ABORT, 'plate is append-only'); END;

CREATE TRIGGER precision_fill_no_delete BEFORE DELETE ON precision_fill BEGIN SELECT RAISE(ABORT, 'precision_fill is append-only'); END;

CREATE TRIGGER precision_fill_no_replace BEFORE INSERT ON precision_fill WHEN EXISTS (SELECT 1 FROM precision_fill WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'precision_fill is append-only'); END;

CREATE TRIGGER precision_fill_no_update BEFORE UPDATE ON precision_fill BEGIN SELECT RAISE(ABORT, 'precision_fill is append-only'); END;

CREATE TRIGGER precision_outcome_no_delete BEFORE DELETE ON precision_outcome BEGIN SELECT RAISE(ABORT, 'precision_outcome is append-only'); END;

CREATE TRIGGER precision_outcome_no_replace BEFORE INSERT ON precision_outcome WHEN EXISTS (SELECT 1 FROM precision_outcome WHERE id = NEW.id OR study_id = NEW.study_id) BEGIN SELECT RAISE(ABORT, 'precision_outcome is append-only'); END;

CREATE TRIGGER precision_outcome_no_update BEFORE UPDATE ON precision_outcome BEGIN SELECT RAISE(ABORT, 'precision_outcome is append-only'); END;

CREATE TRIGGER precision_place_no_delete BEFORE DELETE ON precision_place BEGIN SELECT RAISE(ABORT, 'precision_place is append-only'); END;

CREATE TRIGGER precision_place_no_replace BEFORE INSERT ON precision_place WHEN EXISTS (SELECT 1 FROM precision_place WHERE study_id = NEW.study_id AND no = NEW.no OR study_id = NEW.study_id AND preparer_id = NEW.preparer_id AND fill_no = NEW.fill_no) BEGIN SELECT RAISE(ABORT, 'precision_place is append-only'); END;

CREATE TRIGGER precision_place_no_update BEFORE UPDATE ON precision_place BEGIN SELECT RAISE(ABORT, 'precision_place is append-only'); END;

CREATE TRIGGER precision_reading_no_delete BEFORE DELETE ON precision_reading BEGIN SELECT RAISE(ABORT, 'precision_reading is append-only'); END;

CREATE TRIGGER precision_reading_no_replace BEFORE INSERT ON precision_reading WHEN EXISTS (SELECT 1 FROM precision_reading WHERE fill_id = NEW.fill_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'precision_reading is append-only'); END;

CREATE TRIGGER precision_reading_no_update BEFORE UPDATE ON precision_reading BEGIN SELECT RAISE(ABORT, 'precision_reading is append-only'); END;

CREATE TRIGGER precision_study_no_delete BEFORE DELETE ON precision_study BEGIN SELECT RAISE(ABORT, 'precision_study is append-only'); END;

CREATE TRIGGER precision_study_no_replace BEFORE INSERT ON precision_study WHEN EXISTS (SELECT 1 FROM precision_study WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'precision_study is append-only'); END;

CREATE TRIGGER precision_study_no_update BEFORE UPDATE ON precision_study BEGIN SELECT RAISE(ABORT, 'precision_study is append-only'); END;

CREATE TRIGGER reading_no_delete BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;

CREATE TRIGGER reading_no_replace BEFORE INSERT ON reading WHEN EXISTS (SELECT 1 FROM reading WHERE sample_id = NEW.sample_id AND fill_no = NEW.fill_no AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;

CREATE TRIGGER reading_no_update BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'reading is append-only'); END;

CREATE TRIGGER result_change_no_delete BEFORE DELETE ON result_change BEGIN SELECT RAISE(ABORT, 'result_change is append-only'); END;

CREATE TRIGGER result_change_no_replace BEFORE INSERT ON result_change WHEN EXISTS (SELECT 1 FROM result_change WHERE id = NEW.id OR cause_id = NEW.cause_id AND batch_id = NEW.batch_id) BEGIN SELECT RAISE(ABORT, 'result_change is append-only'); END;

CREATE TRIGGER result_change_no_update BEFORE UPDATE ON result_change BEGIN SELECT RAISE(ABORT, 'result_change is append-only'); END;

CREATE TRIGGER result_change_part_no_delete BEFORE DELETE ON result_change_part BEGIN SELECT RAISE(ABORT, 'result_change_part is append-only'); END;

CREATE TRIGGER result_change_part_no_replace BEFORE INSERT ON result_change_part WHEN EXISTS (SELECT 1 FROM result_change_part WHERE change_id = NEW.change_id AND kind = NEW.kind) BEGIN SELECT RAISE(ABORT, 'result_change_part is append-only'); END;

CREATE TRIGGER result_change_part_no_update BEFORE UPDATE ON result_change_part BEGIN SELECT RAISE(ABORT, 'result_change_part is append-only'); END;

CREATE TRIGGER sample_move_no_delete BEFORE DELETE ON sample_move BEGIN SELECT RAISE(ABORT, 'sample_move is append-only'); END;

CREATE TRIGGER sample_move_no_replace BEFORE INSERT ON sample_move WHEN EXISTS (SELECT 1 FROM sample_move WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'sample_move is append-only'); END;

CREATE TRIGGER sample_move_no_update BEFORE UPDATE ON sample_move BEGIN SELECT RAISE(ABORT, 'sample_move is append-only'); END;

CREATE TRIGGER sample_no_delete BEFORE DELETE ON sample BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;

CREATE TRIGGER sample_no_replace BEFORE INSERT ON sample WHEN EXISTS (SELECT 1 FROM sample WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;

CREATE TRIGGER sample_no_update BEFORE UPDATE ON sample WHEN NEW.batch_id IS OLD.batch_id OR NEW.id IS NOT OLD.id OR NEW.kind IS NOT OLD.kind OR NEW.method_version_id IS NOT OLD.method_version_id OR NEW.target_version_id IS NOT OLD.target_version_id OR NEW.meter_id IS NOT OLD.meter_id OR NEW.plate_id IS NOT OLD.plate_id OR NEW.grinder_setting_id IS NOT OLD.grinder_setting_id OR NEW.checklist IS NOT OLD.checklist OR NEW.sigma_r IS NOT OLD.sigma_r OR NEW.sigma_f IS NOT OLD.sigma_f OR NEW.sigma_source IS NOT OLD.sigma_source OR NEW.u_meter IS NOT OLD.u_meter OR NEW.u_meter_source IS NOT OLD.u_meter_source OR NEW.note IS NOT OLD.note OR NEW.person_id IS NOT OLD.person_id OR NEW.role IS NOT OLD.role OR NEW.tablet_id IS NOT OLD.tablet_id OR NEW.made_at IS NOT OLD.made_at OR NEW.received_at IS NOT OLD.received_at OR NEW.sent_by IS NOT OLD.sent_by OR NEW.claim_id IS NOT OLD.claim_id OR NEW.tablet_clock IS NOT OLD.tablet_clock OR NEW.tablet_seq IS NOT OLD.tablet_seq OR NEW.import_id IS NOT OLD.import_id OR (NEW.batch_id IS NOT OLD.batch_id AND NEW.batch_id IS NOT (SELECT m.to_batch_id FROM sample_move m WHERE m.sample_id = NEW.id ORDER BY m.rowid DESC LIMIT 1)) BEGIN SELECT RAISE(ABORT, 'sample is append-only'); END;

CREATE TRIGGER scale_no_delete BEFORE DELETE ON scale BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;

CREATE TRIGGER scale_no_replace BEFORE INSERT ON scale WHEN EXISTS (SELECT 1 FROM scale WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;

CREATE TRIGGER scale_no_update BEFORE UPDATE ON scale BEGIN SELECT RAISE(ABORT, 'scale is append-only'); END;

CREATE TRIGGER signal_note_no_delete BEFORE DELETE ON signal_note BEGIN SELECT RAISE(ABORT, 'signal_note is append-only'); END;

CREATE TRIGGER signal_note_no_replace BEFORE INSERT ON signal_note WHEN EXISTS (SELECT 1 FROM signal_note WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'signal_note is append-only'); END;

CREATE TRIGGER signal_note_no_update BEFORE UPDATE ON signal_note BEGIN SELECT RAISE(ABORT, 'signal_note is append-only'); END;

CREATE TRIGGER signoff_no_delete BEFORE DELETE ON signoff BEGIN SELECT RAISE(ABORT, 'signoff is append-only'); END;

CREATE TRIGGER signoff_no_replace BEFORE INSERT ON signoff WHEN EXISTS (SELECT 1 FROM signoff WHERE id = NEW.id OR comparison_id = NEW.comparison_id) BEGIN SELECT RAISE(ABORT, 'signoff is append-only'); END;

CREATE TRIGGER signoff_no_update BEFORE UPDATE ON signoff BEGIN SELECT RAISE(ABORT, 'signoff is append-only'); END;

CREATE TRIGGER step_done_no_delete BEFORE DELETE ON step_done BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;

CREATE TRIGGER step_done_no_replace BEFORE INSERT ON step_done WHEN EXISTS (SELECT 1 FROM step_done WHERE sample_id = NEW.sample_id AND step_no = NEW.step_no) BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;

CREATE TRIGGER step_done_no_update BEFORE UPDATE ON step_done BEGIN SELECT RAISE(ABORT, 'step_done is append-only'); END;

CREATE TRIGGER target_band_no_delete BEFORE DELETE ON target_band BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;

CREATE TRIGGER target_band_no_replace BEFORE INSERT ON target_band WHEN EXISTS (SELECT 1 FROM target_band WHERE target_version_id = NEW.target_version_id AND kind = NEW.kind) BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;

CREATE TRIGGER target_band_no_update BEFORE UPDATE ON target_band BEGIN SELECT RAISE(ABORT, 'target_band is append-only'); END;

CREATE TRIGGER target_version_no_delete BEFORE DELETE ON target_version BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;

CREATE TRIGGER target_version_no_replace BEFORE INSERT ON target_version WHEN EXISTS (SELECT 1 FROM target_version WHERE id = NEW.id OR product_id = NEW.product_id AND no = NEW.no) BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;

CREATE TRIGGER target_version_no_update BEFORE UPDATE ON target_version BEGIN SELECT RAISE(ABORT, 'target_version is append-only'); END;

CREATE TRIGGER trend_baseline_no_delete BEFORE DELETE ON trend_baseline BEGIN SELECT RAISE(ABORT, 'trend_baseline is append-only'); END;

CREATE TRIGGER trend_baseline_no_replace BEFORE INSERT ON trend_baseline WHEN EXISTS (SELECT 1 FROM trend_baseline WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'trend_baseline is append-only'); END;

CREATE TRIGGER trend_baseline_no_update BEFORE UPDATE ON trend_baseline BEGIN SELECT RAISE(ABORT, 'trend_baseline is append-only'); END;

CREATE TRIGGER trend_rules_no_delete BEFORE DELETE ON trend_rules BEGIN SELECT RAISE(ABORT, 'trend_rules is append-only'); END;

CREATE TRIGGER trend_rules_no_replace BEFORE INSERT ON trend_rules WHEN EXISTS (SELECT 1 FROM trend_rules WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'trend_rules is append-only'); END;

CREATE TRIGGER trend_rules_no_update BEFORE UPDATE ON trend_rules BEGIN SELECT RAISE(ABORT, 'trend_rules is append-only'); END;

