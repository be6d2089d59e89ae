-- One shop's file. Times are milliseconds since 1970 UTC, days are YYYY-MM-DD, money is a decimal written as text
-- (a REAL would round it), masses are micrograms, choices are the words of the program's own choices. Bodies that only
-- the program reads are JSON text. Standard SQL wherever SQLite allows it, so that the schema can move to PostgreSQL.

-- Stands apart from jobs and revisions so that a person can be erased on request while the papers stay whole.
CREATE TABLE customer (
    id         INTEGER PRIMARY KEY,
    name       TEXT NOT NULL,
    email      TEXT NOT NULL,
    phone      TEXT NOT NULL,
    address    TEXT NOT NULL,
    version    INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    changed_by TEXT NOT NULL,
    erased_at  INTEGER
) STRICT;

CREATE INDEX customer_name ON customer (name);

CREATE TABLE job (
    id             INTEGER PRIMARY KEY,
    year           INTEGER NOT NULL,
    sequence       INTEGER NOT NULL,
    number         TEXT NOT NULL UNIQUE,
    title          TEXT NOT NULL,
    customer_id    INTEGER NOT NULL REFERENCES customer (id),
    -- Number, title and customer in lower case, for the search box.
    search         TEXT NOT NULL,
    stage          TEXT NOT NULL CHECK
        (stage IN ('enquiry', 'quoted', 'accepted', 'in-the-shop', 'handed-over', 'declined', 'lapsed')),
    enquired_at    INTEGER NOT NULL,
    quoted_at      INTEGER,
    valid_until    TEXT,
    accepted_at    INTEGER,
    started_at     INTEGER,
    handed_over_at INTEGER,
    declined_at    INTEGER,
    lapsed_at      INTEGER,
    need           TEXT NOT NULL,
    -- Counts the saves of the need: a save names the version it was read at.
    version        INTEGER NOT NULL,
    need_at        INTEGER NOT NULL,
    need_by        TEXT NOT NULL,
    created_at     INTEGER NOT NULL,
    updated_at     INTEGER NOT NULL,
    cloned_from    INTEGER REFERENCES job (id),
    UNIQUE (year, sequence)
) STRICT;

CREATE INDEX job_customer ON job (customer_id);
-- Holds all that a search reads, in the order of the list: the rows themselves, with their long needs, stay unread.
CREATE INDEX job_updated ON job (updated_at, id, stage, search);
CREATE INDEX job_stage_updated ON job (stage, updated_at, id, search);
CREATE INDEX job_title ON job (title, id, stage, search);
CREATE INDEX job_lapsing ON job (valid_until) WHERE stage = 'quoted';

CREATE TABLE variant (
    id                INTEGER PRIMARY KEY,
    job_id            INTEGER NOT NULL REFERENCES job (id),
    name              TEXT NOT NULL,
    chosen            INTEGER NOT NULL CHECK (chosen IN (0, 1)),
    design            TEXT NOT NULL,
    offer             TEXT NOT NULL,
    version           INTEGER NOT NULL,
    changed_at        INTEGER NOT NULL,
    changed_by        TEXT NOT NULL,
    -- The headline of the estimate of this spec, for lists; all absent while the spec cannot be built.
    price             TEXT,
    empty_mass_ug     INTEGER,
    failing_checks    INTEGER,
    unanswered_checks INTEGER,
    oldest_price_day  TEXT,
    UNIQUE (job_id, name)
) STRICT;

CREATE UNIQUE INDEX variant_chosen ON variant (job_id) WHERE chosen = 1;

-- An issued quote, frozen. It is superseded by the next number of the same job: nothing of it is ever written again.
CREATE TABLE revision (
    id           INTEGER PRIMARY KEY,
    job_id       INTEGER NOT NULL REFERENCES job (id),
    number       INTEGER NOT NULL CHECK (number > 0),
    variant_name TEXT NOT NULL,
    price        TEXT NOT NULL,
    body         TEXT NOT NULL,
    sha256       TEXT NOT NULL CHECK (length(sha256) = 64),
    issued_at    INTEGER NOT NULL,
    issued_by    TEXT NOT NULL,
    valid_until  TEXT NOT NULL,
    program      TEXT NOT NULL,
    UNIQUE (job_id, number)
) STRICT;

CREATE TRIGGER revision_is_never_changed BEFORE UPDATE ON revision
BEGIN
    SELECT RAISE(ABORT, 'an issued revision is never changed');
END;

CREATE TRIGGER revision_is_never_deleted BEFORE DELETE ON revision
BEGIN
    SELECT RAISE(ABORT, 'an issued revision is never deleted');
END;

-- The way to a customer's copy: the token itself is shown once and kept nowhere.
CREATE TABLE customer_link (
    id           INTEGER PRIMARY KEY,
    revision_id  INTEGER NOT NULL REFERENCES revision (id),
    token_sha256 TEXT NOT NULL UNIQUE CHECK (length(token_sha256) = 64),
    created_at   INTEGER NOT NULL,
    created_by   TEXT NOT NULL,
    expires_at   INTEGER NOT NULL,
    revoked_at   INTEGER,
    last_seen_at INTEGER
) STRICT;

CREATE INDEX customer_link_revision ON customer_link (revision_id);

-- What the customer decided on a revision, once.
CREATE TABLE decision (
    id          INTEGER PRIMARY KEY,
    revision_id INTEGER NOT NULL UNIQUE REFERENCES revision (id),
    kind        TEXT NOT NULL CHECK (kind IN ('accepted', 'declined')),
    -- As typed; emptied when the customer is erased.
    name        TEXT NOT NULL,
    at          INTEGER NOT NULL,
    why         TEXT NOT NULL,
    terms       TEXT NOT NULL,
    options     TEXT NOT NULL
) STRICT;

CREATE TRIGGER decision_is_never_changed BEFORE UPDATE OF id, revision_id, kind, at, terms, options ON decision
BEGIN
    SELECT RAISE(ABORT, 'a decision is never changed');
END;

CREATE TRIGGER decision_is_never_deleted BEFORE DELETE ON decision
BEGIN
    SELECT RAISE(ABORT, 'a decision is never deleted');
END;

CREATE TABLE message (
    id          INTEGER PRIMARY KEY,
    job_id      INTEGER NOT NULL REFERENCES job (id),
    revision_id INTEGER REFERENCES revision (id),
    author      TEXT NOT NULL CHECK (author IN ('shop', 'customer')),
    name        TEXT NOT NULL,
    text        TEXT NOT NULL,
    at          INTEGER NOT NULL,
    -- When the shop answered; a message of the customer without it is an open question.
    answered_at INTEGER
) STRICT;

CREATE INDEX message_job ON message (job_id, at, id);
CREATE INDEX message_open ON message (job_id) WHERE author = 'customer' AND answered_at IS NULL;

-- What an item is. Its prices, with the sizes it is sold in, stand in rate_price.
CREATE TABLE rate_item (
    id         INTEGER PRIMARY KEY,
    code       TEXT NOT NULL UNIQUE,
    name       TEXT NOT NULL,
    class      TEXT NOT NULL,
    supplier   TEXT NOT NULL,
    unit       TEXT NOT NULL,
    lead_days  INTEGER NOT NULL,
    goods      TEXT NOT NULL,
    source     TEXT NOT NULL,
    retired_on TEXT,
    version    INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    changed_by TEXT NOT NULL
) STRICT;

CREATE INDEX rate_item_class ON rate_item (class);

-- A price and the day from which it holds. An edit adds a row; of two for one day the one entered later wins.
CREATE TABLE rate_price (
    id         INTEGER PRIMARY KEY,
    item_id    INTEGER NOT NULL REFERENCES rate_item (id),
    from_day   TEXT NOT NULL,
    price      TEXT NOT NULL,
    -- The lengths of a bar or the sizes of a sheet, each with its own price where it has one.
    sizes      TEXT,
    entered_at INTEGER NOT NULL,
    entered_by TEXT NOT NULL
) STRICT;

CREATE INDEX rate_price_item ON rate_price (item_id, from_day, entered_at, id);

CREATE TRIGGER rate_price_is_never_changed BEFORE UPDATE ON rate_price
BEGIN
    SELECT RAISE(ABORT, 'a price is never changed: enter a new one');
END;

CREATE TRIGGER rate_price_is_never_deleted BEFORE DELETE ON rate_price
BEGIN
    SELECT RAISE(ABORT, 'a price is never deleted: enter a new one');
END;

-- Policies, norms and terms; every save adds a version.
CREATE TABLE shop_book (
    version  INTEGER PRIMARY KEY,
    body     TEXT NOT NULL,
    saved_at INTEGER NOT NULL,
    saved_by TEXT NOT NULL
) STRICT;

CREATE TABLE audit (
    id         INTEGER PRIMARY KEY,
    at         INTEGER NOT NULL,
    who        TEXT NOT NULL,
    what       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    before     TEXT,
    after      TEXT
) STRICT;

CREATE INDEX audit_subject ON audit (subject, subject_id, id);
