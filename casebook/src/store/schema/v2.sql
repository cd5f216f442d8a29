-- Version 2. Names are found without regard to accents and capitals; the end points of every round lie ready, so that
-- how well people repeat needn't be worked out from all raises; moves on disk that were broken off are finished.
ALTER TABLE clients ADD COLUMN folded TEXT NOT NULL DEFAULT '';
CREATE TABLE ends (
    round INTEGER NOT NULL REFERENCES rounds (id) ON DELETE CASCADE,
    side TEXT NOT NULL,
    angles TEXT NOT NULL,
    PRIMARY KEY (round, side)
) WITHOUT ROWID;
CREATE TABLE moves (
    id INTEGER PRIMARY KEY,
    root TEXT NOT NULL,
    is_copy INTEGER NOT NULL,
    from_id TEXT NOT NULL,
    to_id TEXT NOT NULL
);
