-- A job's release to the workshop, once: the estimate with its cutting planned from the rack of that hour, by which the pieces were
-- booked as cut. What of it was worth keeping comes back to the rack at one press.
CREATE TABLE job_release (
    job_id      INTEGER PRIMARY KEY REFERENCES job (id),
    body        TEXT NOT NULL,
    released_at INTEGER NOT NULL,
    released_by TEXT NOT NULL,
    returned_at INTEGER,
    returned_by TEXT,
    CHECK ((returned_at IS NULL) = (returned_by IS NULL))
) STRICT;

CREATE TRIGGER release_is_never_changed BEFORE UPDATE ON job_release
WHEN OLD.returned_at IS NOT NULL OR (NEW.job_id, NEW.body, NEW.released_at, NEW.released_by)
    IS NOT (OLD.job_id, OLD.body, OLD.released_at, OLD.released_by)
BEGIN
    SELECT RAISE(ABORT, 'a release is never changed, and its remainders return once');
END;

CREATE TRIGGER release_is_never_deleted BEFORE DELETE ON job_release
BEGIN
    SELECT RAISE(ABORT, 'a release is never deleted');
END;
