-- How the server makes a copy of this file each night, in one row; none while the owner set nothing. Where the copies go is said
-- when the server is started.
CREATE TABLE nightly_copy (
    id         INTEGER PRIMARY KEY CHECK (id = 1),
    is_on      INTEGER NOT NULL CHECK (is_on IN (0, 1)),
    -- Of the shop's clock.
    hour       INTEGER NOT NULL CHECK (hour BETWEEN 0 AND 23),
    keep       INTEGER NOT NULL CHECK (keep BETWEEN 1 AND 400),
    version    INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    changed_by TEXT NOT NULL
) STRICT;
