-- Goods arrive in parts: what came of a line, and on which day. Nothing of it is ever changed or deleted: what was not here after all is a
-- row below nought, with a reason. An order stands as arrived when all of its lines have come: that step is taken with the last arrival.
CREATE TABLE purchase_arrival (
    id       INTEGER PRIMARY KEY,
    line_id  INTEGER NOT NULL REFERENCES purchase_line (id),
    -- In what the line counts.
    quantity TEXT NOT NULL,
    day      TEXT NOT NULL,
    why      TEXT NOT NULL,
    at       INTEGER NOT NULL,
    who      TEXT NOT NULL,
    CHECK (quantity NOT LIKE '-%' OR why <> '')
) STRICT;

CREATE INDEX purchase_arrival_line ON purchase_arrival (line_id, id);

-- The day on which a line was to be here; of an older line, the order's.
ALTER TABLE purchase_line ADD COLUMN due TEXT;
-- What the jobs needed of it together, as its shares say. Of most lines that is what was bought, in the same words: once their jobs are
-- built nothing is left of them to count, and they are not read again.
ALTER TABLE purchase_line ADD COLUMN needed TEXT;

DROP TRIGGER purchase_line_is_never_changed;
UPDATE purchase_line SET needed = (
    SELECT CASE
        WHEN count(*) = 1 THEN max(quantity)
        WHEN sum(CAST(quantity AS REAL)) = CAST(sum(CAST(quantity AS REAL)) AS INTEGER)
            THEN CAST(CAST(sum(CAST(quantity AS REAL)) AS INTEGER) AS TEXT)
    END
    FROM purchase_share WHERE line_id = purchase_line.id
);
CREATE TRIGGER purchase_line_is_never_changed BEFORE UPDATE ON purchase_line
BEGIN
    SELECT RAISE(ABORT, 'an order is never changed: cancel it');
END;

-- How an order stands is found without its steps themselves.
DROP INDEX purchase_step_order;
CREATE INDEX purchase_step_order ON purchase_step (order_id, id, kind);

CREATE INDEX purchase_line_over ON purchase_line (id) WHERE needed IS NOT bought;

-- What stands as arrived has come whole.
INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who)
SELECT l.id, l.bought, s.day, '', s.at, s.who FROM purchase_line l JOIN purchase_step s ON s.order_id = l.order_id
WHERE s.kind = 'arrived' AND CAST(l.bought AS REAL) > 0
    AND s.id = (SELECT max(id) FROM purchase_step WHERE order_id = l.order_id)
ORDER BY l.id;

-- What lies on the rack, or lay there, has come.
INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who)
SELECT c.line_id, CAST(count(*) AS TEXT), date(max(m.at) / 1000, 'unixepoch'), '', max(m.at), max(m.who)
FROM purchase_piece c JOIN movement m ON m.piece_id = c.piece_id AND m.kind = 'received'
WHERE c.line_id NOT IN (SELECT line_id FROM purchase_arrival)
GROUP BY c.line_id ORDER BY c.line_id;

-- So an order of which all lies there has arrived.
INSERT INTO purchase_step (order_id, kind, day, why, at, who)
SELECT l.order_id, 'arrived', max(a.day), '', max(a.at), max(a.who)
FROM purchase_line l LEFT JOIN purchase_arrival a ON a.line_id = l.id
WHERE CAST(l.bought AS REAL) > 0 AND coalesce(
    (SELECT kind FROM purchase_step s WHERE s.order_id = l.order_id ORDER BY s.id DESC LIMIT 1), 'awaited') = 'awaited'
GROUP BY l.order_id
HAVING min(coalesce(CAST(a.quantity AS REAL) >= CAST(l.bought AS REAL), 0)) = 1
ORDER BY l.order_id;

CREATE TRIGGER purchase_arrival_is_of_a_standing_order BEFORE INSERT ON purchase_arrival
WHEN 'cancelled' = (
    SELECT s.kind FROM purchase_step s JOIN purchase_line l ON l.order_id = s.order_id
    WHERE l.id = NEW.line_id ORDER BY s.id DESC LIMIT 1
)
BEGIN
    SELECT RAISE(ABORT, 'the order was cancelled');
END;

CREATE TRIGGER purchase_arrival_is_never_changed BEFORE UPDATE ON purchase_arrival
BEGIN
    SELECT RAISE(ABORT, 'what came is never changed: say what was not here after all');
END;

CREATE TRIGGER purchase_arrival_is_never_deleted BEFORE DELETE ON purchase_arrival
BEGIN
    SELECT RAISE(ABORT, 'what came is never deleted: say what was not here after all');
END;
