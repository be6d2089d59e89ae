-- Who works in the shop, and how they come in.

CREATE TABLE person (
    id         INTEGER PRIMARY KEY,
    name       TEXT NOT NULL,
    -- The name in lower case as the program folds it (SQLite folds ASCII alone): nobody has another's name.
    folded     TEXT NOT NULL UNIQUE,
    role       TEXT NOT NULL CHECK (role IN ('owner', 'estimator', 'workshop')),
    -- argon2id with its salt and parameters, as a PHC string; absent until a password was chosen.
    password   TEXT,
    active     INTEGER NOT NULL CHECK (active IN (0, 1)),
    -- Made with the demo shop, by a password that anyone may read: never let in at the public address.
    demo       INTEGER NOT NULL CHECK (demo IN (0, 1)),
    created_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    changed_by TEXT NOT NULL
) STRICT;

-- A browser in which somebody signed in. The token itself is in the browser's cookie alone.
CREATE TABLE session (
    id           INTEGER PRIMARY KEY,
    token_sha256 TEXT NOT NULL UNIQUE CHECK (length(token_sha256) = 64),
    person_id    INTEGER NOT NULL REFERENCES person (id),
    created_at   INTEGER NOT NULL,
    last_seen_at INTEGER NOT NULL,
    expires_at   INTEGER NOT NULL
) STRICT;

CREATE INDEX session_person ON session (person_id);

-- The way to choose a first or a new password, once. Without a person it makes the shop's owner.
CREATE TABLE set_up_link (
    id           INTEGER PRIMARY KEY,
    token_sha256 TEXT NOT NULL UNIQUE CHECK (length(token_sha256) = 64),
    person_id    INTEGER REFERENCES person (id),
    created_at   INTEGER NOT NULL,
    expires_at   INTEGER NOT NULL
) STRICT;

CREATE INDEX set_up_link_person ON set_up_link (person_id);
