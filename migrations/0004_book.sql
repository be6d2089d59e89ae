-- The item itself keeps its first supplier and its own price; what stood in a file before this stays as it was and prices
-- as it did. Other suppliers stand beside it, each with dated prices in the same table.
ALTER TABLE rate_item ADD COLUMN article TEXT NOT NULL DEFAULT '';
-- 'first', 'cheapest' or 'supplier:NAME'.
ALTER TABLE rate_item ADD COLUMN priced_by TEXT NOT NULL DEFAULT 'first';

CREATE TABLE supply (
    id         INTEGER PRIMARY KEY,
    item_id    INTEGER NOT NULL REFERENCES rate_item (id),
    supplier   TEXT NOT NULL,
    article    TEXT NOT NULL,
    pack       TEXT NOT NULL,
    lead_days  INTEGER NOT NULL,
    -- No longer sold by this supplier; kept for history.
    dropped_on TEXT,
    UNIQUE (item_id, supplier)
) STRICT;

CREATE INDEX supply_supplier ON supply (supplier);

-- Prices that were entered at one press. Undone, none of them ever held; they stay in the history.
CREATE TABLE price_batch (
    id        INTEGER PRIMARY KEY,
    what      TEXT NOT NULL,
    from_day  TEXT NOT NULL,
    -- A change of items beside their prices is not undone at one press.
    undoable  INTEGER NOT NULL CHECK (undoable IN (0, 1)),
    at        INTEGER NOT NULL,
    who       TEXT NOT NULL,
    undone_at INTEGER,
    undone_by TEXT
) STRICT;

ALTER TABLE rate_price ADD COLUMN supply_id INTEGER REFERENCES supply (id);
ALTER TABLE rate_price ADD COLUMN batch_id INTEGER REFERENCES price_batch (id);

CREATE INDEX rate_price_supply ON rate_price (supply_id, from_day, entered_at, id) WHERE supply_id IS NOT NULL;
-- For the prices to come.
CREATE INDEX rate_price_day ON rate_price (from_day);
CREATE INDEX rate_price_batch ON rate_price (batch_id) WHERE batch_id IS NOT NULL;

-- A price list that was sent and looked at, until it is confirmed: what is confirmed is what was looked at.
CREATE TABLE price_list (
    id         INTEGER PRIMARY KEY,
    file_name  TEXT NOT NULL,
    text       TEXT NOT NULL,
    from_day   TEXT NOT NULL,
    sent_at    INTEGER NOT NULL,
    sent_by    TEXT NOT NULL
) STRICT;
