-- Version 1. Text is UTF-8; dates are YYYY-MM-DD; what isn't known is NULL, what is empty is ''.
CREATE TABLE clients (
    id INTEGER PRIMARY KEY,
    code TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    contact TEXT NOT NULL,
    birth_year INTEGER,
    notes TEXT NOT NULL,
    consent_given TEXT,
    consent_text TEXT,
    consent_withdrawn TEXT,
    added TEXT NOT NULL
);
CREATE TABLE visits (
    id INTEGER PRIMARY KEY,
    client INTEGER NOT NULL REFERENCES clients (id) ON DELETE CASCADE,
    session TEXT NOT NULL,
    date TEXT NOT NULL,
    has_asked_cautions INTEGER NOT NULL,
    cautions TEXT NOT NULL,
    feels_tight INTEGER,
    is_quiet INTEGER,
    pain INTEGER,
    pull_felt TEXT NOT NULL,
    warm_up TEXT NOT NULL,
    notes TEXT NOT NULL,
    UNIQUE (client, session)
);
CREATE TABLE rounds (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visits (id) ON DELETE CASCADE,
    acquisition TEXT NOT NULL,
    run TEXT NOT NULL,
    purpose TEXT NOT NULL,
    began TEXT,
    movement TEXT,
    ankle TEXT,
    asked_for TEXT,
    rater TEXT,
    sensors TEXT NOT NULL,
    is_calibrated INTEGER NOT NULL,
    method_version INTEGER NOT NULL,
    method_program TEXT NOT NULL,
    method_settings TEXT NOT NULL,
    UNIQUE (visit, acquisition, run)
);
-- One raise a row, as JSON: it is read and written whole.
CREATE TABLE raises (
    round INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    place INTEGER NOT NULL,
    body TEXT NOT NULL,
    set_aside TEXT,
    PRIMARY KEY (round, place)
) WITHOUT ROWID;
CREATE TABLE drills (
    visit INTEGER PRIMARY KEY REFERENCES visits (id) ON DELETE CASCADE,
    key TEXT NOT NULL,
    name TEXT NOT NULL,
    ended TEXT,
    notes TEXT NOT NULL
);
CREATE TABLE plans (
    client INTEGER NOT NULL REFERENCES clients (id) ON DELETE CASCADE,
    side TEXT NOT NULL,
    band INTEGER NOT NULL,
    since TEXT,
    PRIMARY KEY (client, side)
) WITHOUT ROWID;
CREATE TABLE settings (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
-- What was changed: the former value, when and why. Rows are added, never changed.
CREATE TABLE changes (
    id INTEGER PRIMARY KEY,
    client INTEGER REFERENCES clients (id) ON DELETE CASCADE,
    at TEXT NOT NULL,
    place TEXT NOT NULL,
    field TEXT NOT NULL,
    former TEXT,
    reason TEXT NOT NULL
);
CREATE INDEX visits_of_client ON visits (client, date);
CREATE INDEX changes_of_client ON changes (client, id);
CREATE TRIGGER changes_stay BEFORE UPDATE OF at, place, field, former, reason ON changes
BEGIN SELECT RAISE (ABORT, 'a kept change is never changed'); END;
