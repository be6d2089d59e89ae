-- Jobs that were released together, by one cutting plan over the parts of all, kept whole. Each piece of its stock is booked for one of
-- them: each job's own release says which.
CREATE TABLE joint_release (
    id   INTEGER PRIMARY KEY,
    body TEXT NOT NULL
) STRICT;

ALTER TABLE job_release ADD COLUMN joint_id INTEGER REFERENCES joint_release (id);
CREATE INDEX job_release_joint ON job_release (joint_id) WHERE joint_id IS NOT NULL;

DROP TRIGGER release_is_never_changed;
CREATE TRIGGER release_is_never_changed BEFORE UPDATE ON job_release
WHEN OLD.returned_at IS NOT NULL OR (NEW.job_id, NEW.body, NEW.released_at, NEW.released_by, NEW.joint_id)
    IS NOT (OLD.job_id, OLD.body, OLD.released_at, OLD.released_by, OLD.joint_id)
BEGIN
    SELECT RAISE(ABORT, 'a release is never changed, and its remainders return once');
END;

CREATE TRIGGER joint_release_is_never_changed BEFORE UPDATE ON joint_release
BEGIN
    SELECT RAISE(ABORT, 'a release is never changed, and its remainders return once');
END;

CREATE TRIGGER joint_release_is_never_deleted BEFORE DELETE ON joint_release
BEGIN
    SELECT RAISE(ABORT, 'a release is never deleted');
END;
