-- A small casebook as version 1 wrote it: kept so that reading one stays tested. Never changed.
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

INSERT INTO clients VALUES (1, 'abcdef', 'Zoë Ångström', 'zoe@example.org', 1980, '', '2026-01-05', '2026-1', NULL, '2026-01-05T09:00:00Z');
INSERT INTO visits VALUES (1, 1, '01', '2026-01-05', 1, 'pressure spine', 1, NULL, 2, 'back of the thigh', '', '');
INSERT INTO rounds VALUES (1, 1, '', '01', 'first', '2026-01-05T09:30:00', 'active', 'relaxed', 'first pull', 'R1', 'shinleft shinright', 0, 1, 'legraise 0.1.0', '0123456789abcdef');
INSERT INTO raises VALUES (1, 0, '{"side": "left", "start_s": 2.5, "end_s": 9.5, "peak": {"time_s": 5.5, "angle": {"rad": 0.9337511498169663, "expanded_rad": 0.0105, "budget": [["sensor", 0.005, null], ["noise", 0.001, 8.0]]}}, "hold": null, "end_point": {"reason": "pull", "time_s": 5.0, "pressed_s": 5.25, "angle": {"rad": 0.9162978572970231, "expanded_rad": 0.0105, "budget": [["sensor", 0.005, null], ["noise", 0.001, 8.0]]}}, "compensations": [{"kind": "knee", "onset_s": 5.4, "rad": 0.8, "extent_rad": 0.2}], "pelvis_share": null, "rate_max_rad_s": 0.3, "flags": ["uncalibrated"]}', NULL);
INSERT INTO raises VALUES (1, 1, '{"side": "right", "start_s": 14.0, "end_s": 21.0, "peak": {"time_s": 17.0, "angle": {"rad": 1.0341075818066403, "expanded_rad": 0.0105, "budget": [["sensor", 0.005, null], ["noise", 0.001, 8.0]]}}, "hold": null, "end_point": {"reason": "pull", "time_s": 16.5, "pressed_s": 16.75, "angle": {"rad": 1.016654289286697, "expanded_rad": 0.0105, "budget": [["sensor", 0.005, null], ["noise", 0.001, 8.0]]}}, "compensations": [{"kind": "knee", "onset_s": 16.9, "rad": 0.8, "extent_rad": 0.2}], "pelvis_share": null, "rate_max_rad_s": 0.3, "flags": ["uncalibrated"]}', 'coughed');
INSERT INTO drills VALUES (1, 'heel-dug-bridge-hold', 'Bridge', '2026-01-05T09:50:00', 'two sets');
INSERT INTO plans VALUES (1, 'left', 1, '2026-01-05');
INSERT INTO settings VALUES ('bands', '45 60 90');
INSERT INTO changes VALUES (1, 1, '2026-01-05T09:00:00Z', 'client', 'added', NULL, '');
PRAGMA user_version = 1;
