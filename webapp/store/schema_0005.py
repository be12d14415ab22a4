"""The fifth migration's SQL, frozen: what a lead decides about trends, and what was found behind a signal.

Limits, centres and sigmas are in scale units.

trend_baseline: limits of a product's run, frozen from a stretch of steady batches, or given up again; the newest one of
a product, kind, scale and method version counts. trend_rules: what the bench listens for; the newest counts.
signal_note: what was behind a signal and what was done; a signal is known by the batch at which it fired and its side,
and its newest note says whether it is closed. trend_state: what a product's newest batches say; derived.
"""

SQL = """
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
CREATE INDEX trend_baseline_by_product ON trend_baseline(product_id, kind);

CREATE TABLE trend_rules (
  id TEXT PRIMARY KEY,
  rules TEXT NOT NULL CHECK (rules IN ('1','12','13','14','123','124','134','1234')),
  average INTEGER NOT NULL CHECK (average IN (0,1)),
  reason TEXT NOT NULL CHECK (length(reason) > 0), person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), made_at TEXT NOT NULL, received_at TEXT NOT NULL
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
CREATE INDEX signal_note_by_product ON signal_note(product_id, kind);

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
"""
