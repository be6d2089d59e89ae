-- What was ordered of suppliers, frozen as it stood at that hour. Nothing of an order is ever changed or deleted: what becomes of it
-- is a step, and one that was cancelled counts no longer.
CREATE TABLE purchase_order (
    id         INTEGER PRIMARY KEY,
    supplier   TEXT NOT NULL CHECK (supplier <> ''),
    day        TEXT NOT NULL,
    -- The longest of its lines, in working days, and the day on which it was to be here by that.
    lead_days  INTEGER NOT NULL,
    due        TEXT NOT NULL,
    currency   TEXT NOT NULL,
    sum        TEXT NOT NULL,
    ordered_at INTEGER NOT NULL,
    ordered_by TEXT NOT NULL
) STRICT;

CREATE TABLE purchase_line (
    id         INTEGER PRIMARY KEY,
    order_id   INTEGER NOT NULL REFERENCES purchase_order (id),
    -- Of the item in the rate book, with what it was called then.
    code       TEXT NOT NULL,
    name       TEXT NOT NULL,
    article    TEXT NOT NULL,
    -- Which size of a bar or sheet; those are counted, the rest is in the unit.
    stock      TEXT,
    unit       TEXT,
    lead_days  INTEGER NOT NULL,
    pack       TEXT NOT NULL,
    packs      TEXT NOT NULL,
    -- None where the line only lays aside what earlier orders left over.
    bought     TEXT NOT NULL,
    price_each TEXT NOT NULL,
    amount     TEXT NOT NULL
) STRICT;

CREATE INDEX purchase_line_order ON purchase_line (order_id);

-- How much of a line each job needed.
CREATE TABLE purchase_share (
    line_id  INTEGER NOT NULL REFERENCES purchase_line (id),
    job_id   INTEGER NOT NULL REFERENCES job (id),
    quantity TEXT NOT NULL,
    PRIMARY KEY (line_id, job_id)
) STRICT;

CREATE INDEX purchase_share_job ON purchase_share (job_id);

-- What became of an order. Without a step it is awaited.
CREATE TABLE purchase_step (
    id       INTEGER PRIMARY KEY,
    order_id INTEGER NOT NULL REFERENCES purchase_order (id),
    kind     TEXT NOT NULL CHECK (kind IN ('awaited', 'arrived', 'cancelled')),
    -- On which it arrived.
    day      TEXT,
    why      TEXT NOT NULL,
    at       INTEGER NOT NULL,
    who      TEXT NOT NULL,
    CHECK ((kind = 'arrived') = (day IS NOT NULL)),
    CHECK (kind = 'arrived' OR why <> '')
) STRICT;

CREATE INDEX purchase_step_order ON purchase_step (order_id, id);

-- Pieces of the rack that came with a line.
CREATE TABLE purchase_piece (
    piece_id INTEGER PRIMARY KEY REFERENCES piece (id),
    line_id  INTEGER NOT NULL REFERENCES purchase_line (id)
) STRICT;

CREATE INDEX purchase_piece_line ON purchase_piece (line_id);
-- What was cut for a job.
CREATE INDEX movement_cut ON movement (job_id) WHERE kind = 'cut';

CREATE TRIGGER purchase_step_fits_the_order BEFORE INSERT ON purchase_step
WHEN coalesce((SELECT kind FROM purchase_step WHERE order_id = NEW.order_id ORDER BY id DESC LIMIT 1), 'awaited')
    IN ('cancelled', NEW.kind)
BEGIN
    SELECT RAISE(ABORT, 'the order stands so already, or was cancelled');
END;

CREATE TRIGGER purchase_order_is_never_changed BEFORE UPDATE ON purchase_order
BEGIN
    SELECT RAISE(ABORT, 'an order is never changed: cancel it');
END;

CREATE TRIGGER purchase_order_is_never_deleted BEFORE DELETE ON purchase_order
BEGIN
    SELECT RAISE(ABORT, 'an order is never deleted: cancel it');
END;

CREATE TRIGGER purchase_line_is_never_changed BEFORE UPDATE ON purchase_line
BEGIN
    SELECT RAISE(ABORT, 'an order is never changed: cancel it');
END;

CREATE TRIGGER purchase_line_is_never_deleted BEFORE DELETE ON purchase_line
BEGIN
    SELECT RAISE(ABORT, 'an order is never deleted: cancel it');
END;

CREATE TRIGGER purchase_share_is_never_changed BEFORE UPDATE ON purchase_share
BEGIN
    SELECT RAISE(ABORT, 'an order is never changed: cancel it');
END;

CREATE TRIGGER purchase_share_is_never_deleted BEFORE DELETE ON purchase_share
BEGIN
    SELECT RAISE(ABORT, 'an order is never deleted: cancel it');
END;

CREATE TRIGGER purchase_step_is_never_changed BEFORE UPDATE ON purchase_step
BEGIN
    SELECT RAISE(ABORT, 'a step of an order is never changed: take another');
END;

CREATE TRIGGER purchase_step_is_never_deleted BEFORE DELETE ON purchase_step
BEGIN
    SELECT RAISE(ABORT, 'a step of an order is never deleted: take another');
END;

CREATE TRIGGER purchase_piece_is_never_changed BEFORE UPDATE ON purchase_piece
BEGIN
    SELECT RAISE(ABORT, 'where a piece came from is never changed');
END;

CREATE TRIGGER purchase_piece_is_never_deleted BEFORE DELETE ON purchase_piece
BEGIN
    SELECT RAISE(ABORT, 'where a piece came from is never changed');
END;
