-- The rack as a ledger. What a piece is and whose it is stands in piece; every step that led there is a movement. The state is written
-- by the triggers alone, from movements, so that the two cannot disagree; a piece has one place for a job, so one job has it.
CREATE TABLE piece (
    id        INTEGER PRIMARY KEY,
    -- Painted on the piece: R-0001, R-0002 …
    tag       TEXT NOT NULL UNIQUE,
    stock     TEXT NOT NULL,
    worth     TEXT NOT NULL,
    sawn_here INTEGER NOT NULL CHECK (sawn_here IN (0, 1)),
    place     TEXT NOT NULL,
    origin    TEXT NOT NULL,
    -- The piece it was sawn from.
    sawn_from INTEGER REFERENCES piece (id),
    state     TEXT NOT NULL DEFAULT 'awaited' CHECK (state IN ('awaited', 'free', 'reserved', 'gone')),
    job_id    INTEGER REFERENCES job (id),
    CHECK ((state = 'reserved') = (job_id IS NOT NULL))
) STRICT;

CREATE INDEX piece_state ON piece (state, id);
CREATE INDEX piece_job ON piece (job_id) WHERE job_id IS NOT NULL;

CREATE TABLE movement (
    id       INTEGER PRIMARY KEY,
    piece_id INTEGER NOT NULL REFERENCES piece (id),
    kind     TEXT NOT NULL CHECK
        (kind IN ('received', 'returned', 'reserved', 'freed', 'cut', 'scrapped', 'corrected')),
    job_id   INTEGER REFERENCES job (id),
    -- Of a correction: what the piece is now, and why.
    stock    TEXT,
    why      TEXT NOT NULL,
    at       INTEGER NOT NULL,
    who      TEXT NOT NULL,
    CHECK ((kind IN ('reserved', 'freed', 'cut')) <= (job_id IS NOT NULL)),
    CHECK ((kind = 'corrected') = (stock IS NOT NULL)),
    CHECK (kind <> 'corrected' OR why <> '')
) STRICT;

CREATE INDEX movement_piece ON movement (piece_id, id);

CREATE TRIGGER movement_is_never_changed BEFORE UPDATE ON movement
BEGIN
    SELECT RAISE(ABORT, 'a movement is never changed: enter a correction');
END;

CREATE TRIGGER movement_is_never_deleted BEFORE DELETE ON movement
BEGIN
    SELECT RAISE(ABORT, 'a movement is never deleted: enter a correction');
END;

CREATE TRIGGER piece_is_never_deleted BEFORE DELETE ON piece
BEGIN
    SELECT RAISE(ABORT, 'a piece is never deleted: it is scrapped');
END;

CREATE TRIGGER movement_fits_the_piece BEFORE INSERT ON movement
WHEN NOT EXISTS (
    SELECT 1 FROM piece WHERE id = NEW.piece_id AND (
        (NEW.kind IN ('received', 'returned') AND state = 'awaited')
        OR (NEW.kind IN ('reserved', 'scrapped', 'corrected') AND state = 'free')
        OR (NEW.kind IN ('freed', 'cut') AND state = 'reserved' AND job_id = NEW.job_id)
    )
)
BEGIN
    SELECT RAISE(ABORT, 'the piece is not free for this movement');
END;

CREATE TRIGGER movement_moves_the_piece AFTER INSERT ON movement
BEGIN
    UPDATE piece SET
        state = CASE NEW.kind WHEN 'reserved' THEN 'reserved' WHEN 'cut' THEN 'gone' WHEN 'scrapped' THEN 'gone' ELSE 'free' END,
        job_id = CASE NEW.kind WHEN 'reserved' THEN NEW.job_id END,
        stock = coalesce(NEW.stock, stock)
    WHERE id = NEW.piece_id;
END;
