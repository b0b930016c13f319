-- The first shape, with one invented client and week. Never edited.
CREATE TABLE client (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    -- The client file, as `lengthwise new client` writes one.
    file TEXT NOT NULL,
    put_away INTEGER NOT NULL DEFAULT 0,
    version INTEGER NOT NULL DEFAULT 1,
    changed TEXT NOT NULL
) STRICT;
CREATE TABLE week (
    id INTEGER PRIMARY KEY,
    client INTEGER NOT NULL REFERENCES client(id),
    name TEXT NOT NULL,
    -- First day, YYYY-MM-DD; unknown for a plan without dates.
    starts TEXT,
    -- The state that is shown; later ones can be redone.
    at INTEGER NOT NULL,
    put_away INTEGER NOT NULL DEFAULT 0,
    version INTEGER NOT NULL DEFAULT 1,
    changed TEXT NOT NULL
) STRICT;
CREATE INDEX week_of_client ON week(client, put_away);
CREATE TABLE state (
    week INTEGER NOT NULL REFERENCES week(id),
    at INTEGER NOT NULL,
    what TEXT NOT NULL,
    content TEXT NOT NULL,
    made TEXT NOT NULL,
    PRIMARY KEY (week, at)
) STRICT, WITHOUT ROWID;
CREATE TABLE name_match (
    typed TEXT PRIMARY KEY,
    movement TEXT NOT NULL,
    settings TEXT NOT NULL,
    made TEXT NOT NULL
) STRICT;
CREATE TABLE template (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    content TEXT NOT NULL,
    made TEXT NOT NULL
) STRICT;
CREATE TABLE coach (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
INSERT INTO client (id, name, file, changed) VALUES (1, 'Mia (invented)', 'name = "Mia (invented)"', '2026-01-01T00:00:00Z');
INSERT INTO week (id, client, name, starts, at, changed) VALUES (1, 1, 'Block 1', '2026-03-02', 1, '2026-01-01T00:00:00Z');
INSERT INTO state (week, at, what, content, made) VALUES (1, 1, 'new', '{"entries": [{"sheet": "", "row": 1, "col": 1, "day": "Day 1", "week": 1, "text": "a", "movement": null, "name": "", "settings": {}, "confidence": 1.0, "sets_low": 3.0, "sets_high": 3.0, "reps_low": null, "reps_high": null, "reps_unit": "reps", "rir": null, "load": null, "unit": null, "status": "certain", "assumptions": []}]}', '2026-01-01T00:00:00Z');
PRAGMA user_version = 1;
