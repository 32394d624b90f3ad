-- +goose Up
-- The culture that one was merged into, and the origins that went along. It has no
-- foreign key: SQLite can't add a composite one to a table that is there.
ALTER TABLE cultures ADD COLUMN merged_into text;
ALTER TABLE cultures ADD COLUMN moved_origins text NOT NULL DEFAULT '[]'; -- JSON

-- From how many per cent of a culture a lot is a copy of it.
ALTER TABLE clubs ADD COLUMN copy_pct bigint NOT NULL DEFAULT 80 CONSTRAINT clubs_copy_pct_check CHECK (copy_pct BETWEEN 50 AND 100);

-- The release of a quarantine has its own line in the timeline of the bin.
INSERT INTO bin_events (club_id, bin_id, moment_at, seq, kind, record_id)
  SELECT club_id, bin_id, released_at, seq, 'release', id FROM quarantines WHERE released_at > moment_at;
