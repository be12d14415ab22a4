"""The second migration's SQL, frozen: records that come from a tablet's outbox, and who said they were who.

The new columns are empty in every older row, and stay empty for what is typed into a page: a record's hash leaves
empty columns out, so the hashes that are there already stay true.

sent_by: whose session sent the record. claim_id: the claim under which it was made. tablet_clock: what the
tablet's clock said, where that lay ahead of the server's. tablet_seq: the tablet's own running number.
"""

SQL = """
CREATE TABLE person_claim (
  id TEXT PRIMARY KEY, person_id TEXT NOT NULL REFERENCES person(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), sent_by TEXT NOT NULL REFERENCES person(id),
  claimed_at TEXT NOT NULL, tablet_clock TEXT, tablet_seq INTEGER, received_at TEXT NOT NULL
) STRICT;

CREATE TABLE claim_confirmed (
  id TEXT PRIMARY KEY, claim_id TEXT NOT NULL REFERENCES person_claim(id),
  tablet_id TEXT NOT NULL REFERENCES tablet(id), confirmed_at TEXT NOT NULL
) STRICT;
CREATE INDEX claim_confirmed_by_claim ON claim_confirmed(claim_id, confirmed_at);

ALTER TABLE batch ADD COLUMN sent_by TEXT REFERENCES person(id);
ALTER TABLE batch ADD COLUMN claim_id TEXT REFERENCES person_claim(id);
ALTER TABLE batch ADD COLUMN tablet_clock TEXT;
ALTER TABLE batch ADD COLUMN tablet_seq INTEGER;

ALTER TABLE sample ADD COLUMN sent_by TEXT REFERENCES person(id);
ALTER TABLE sample ADD COLUMN claim_id TEXT REFERENCES person_claim(id);
ALTER TABLE sample ADD COLUMN tablet_clock TEXT;
ALTER TABLE sample ADD COLUMN tablet_seq INTEGER;

ALTER TABLE decision ADD COLUMN sent_by TEXT REFERENCES person(id);
ALTER TABLE decision ADD COLUMN claim_id TEXT REFERENCES person_claim(id);
ALTER TABLE decision ADD COLUMN tablet_clock TEXT;
ALTER TABLE decision ADD COLUMN tablet_seq INTEGER
"""
