"""The statements of the migrations for a job that several people work on: its own files, edits,
people. As in schema.py: shipped text is never changed, a step is added instead.
"""

from __future__ import annotations

FILE_TABLES = """\
CREATE TABLE files (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (length(name) > 0),
  kind TEXT NOT NULL CHECK (kind IN ('job', 'input')),
  sha256 TEXT NOT NULL,
  bytes BLOB NOT NULL,
  UNIQUE (name, kind, sha256)
) STRICT;
CREATE TRIGGER files_keep BEFORE UPDATE ON files
BEGIN SELECT RAISE(ABORT, 'files are only added to'); END;
CREATE TRIGGER files_stay BEFORE DELETE ON files
BEGIN SELECT RAISE(ABORT, 'files are only added to'); END;
CREATE TABLE input_files (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  input_hash TEXT NOT NULL REFERENCES inputs (input_hash),
  position INTEGER NOT NULL CHECK (position >= 0),
  file_id INTEGER NOT NULL REFERENCES files (id),
  UNIQUE (input_hash, position)
) STRICT;
CREATE TRIGGER input_files_keep BEFORE UPDATE ON input_files
BEGIN SELECT RAISE(ABORT, 'files are only added to'); END;
CREATE TRIGGER input_files_stay BEFORE DELETE ON input_files
BEGIN SELECT RAISE(ABORT, 'files are only added to'); END;
CREATE INDEX input_files_file_id ON input_files (file_id);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('files', 'attributes', 'files', 'The files jobs were made from, each content once'),
  ('input_files', 'attributes', 'input_files', 'Which files each set of inputs was made from');
"""

PEOPLE_TABLES = """\
CREATE TABLE drafts (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  edit_id TEXT NOT NULL UNIQUE,
  made_s REAL NOT NULL,
  writer TEXT NOT NULL,
  device TEXT NOT NULL,
  record TEXT NOT NULL
) STRICT;
CREATE TRIGGER drafts_keep BEFORE UPDATE ON drafts
BEGIN SELECT RAISE(ABORT, 'drafts are only added to'); END;
CREATE TRIGGER drafts_stay BEFORE DELETE ON drafts
BEGIN SELECT RAISE(ABORT, 'drafts are only added to'); END;
CREATE TABLE people (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  handle TEXT NOT NULL UNIQUE CHECK (length(handle) > 0),
  name TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('look', 'log', 'plan', 'lead')),
  code_salt TEXT NOT NULL,
  code_hash TEXT NOT NULL,
  made_s REAL NOT NULL,
  revoked_s REAL
) STRICT;
CREATE TRIGGER people_keep BEFORE UPDATE ON people
WHEN OLD.revoked_s IS NOT NULL OR NEW.revoked_s IS NULL OR NEW.id <> OLD.id
  OR NEW.handle <> OLD.handle OR NEW.name <> OLD.name OR NEW.role <> OLD.role
  OR NEW.code_salt <> OLD.code_salt OR NEW.code_hash <> OLD.code_hash OR NEW.made_s <> OLD.made_s
BEGIN SELECT RAISE(ABORT, 'people are added and revoked once, never changed'); END;
CREATE TRIGGER people_stay BEFORE DELETE ON people
BEGIN SELECT RAISE(ABORT, 'people are added and revoked, never removed'); END;
CREATE TABLE sessions (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  token_hash TEXT NOT NULL UNIQUE,
  person_id INTEGER NOT NULL REFERENCES people (id),
  device TEXT NOT NULL,
  made_s REAL NOT NULL,
  expires_s REAL NOT NULL,
  ended_s REAL
) STRICT;
CREATE INDEX sessions_person_id ON sessions (person_id);
CREATE TABLE audit (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  when_s REAL NOT NULL,
  who TEXT NOT NULL,
  device TEXT NOT NULL,
  address TEXT NOT NULL,
  what TEXT NOT NULL
) STRICT;
CREATE TRIGGER audit_keep BEFORE UPDATE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit is only added to'); END;
CREATE TRIGGER audit_stay BEFORE DELETE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit is only added to'); END;
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('drafts', 'attributes', 'drafts', 'Edits of the job that no plan has been made from yet'),
  ('people', 'attributes', 'people', 'Who may look, log, plan or lead; codes only as hashes'),
  ('sessions', 'attributes', 'sessions', 'Devices that have joined; tokens only as hashes'),
  ('audit', 'attributes', 'audit', 'Who did what from where: only added to');
"""

TRIAL_TABLES = """\
CREATE TABLE typed_trials (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  trial_row INTEGER NOT NULL REFERENCES trials (id)
) STRICT;
CREATE TRIGGER typed_trials_keep BEFORE UPDATE ON typed_trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
CREATE TRIGGER typed_trials_stay BEFORE DELETE ON typed_trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
CREATE INDEX typed_trials_trial_row ON typed_trials (trial_row);
INSERT INTO typed_trials (trial_row) SELECT id FROM trials ORDER BY id;
ALTER TABLE inputs ADD COLUMN files_hash TEXT;
CREATE TABLE input_trials (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  input_hash TEXT NOT NULL REFERENCES inputs (input_hash),
  trial_row INTEGER NOT NULL REFERENCES trials (id),
  UNIQUE (input_hash, trial_row)
) STRICT;
CREATE TRIGGER input_trials_keep BEFORE UPDATE ON input_trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
CREATE TRIGGER input_trials_stay BEFORE DELETE ON input_trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
CREATE INDEX input_trials_trial_row ON input_trials (trial_row);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('typed_trials', 'attributes', 'typed_trials', 'Which trials were typed at the bench, in order'),
  ('input_trials', 'attributes', 'input_trials', 'Which typed trials a set of inputs counts');
"""
