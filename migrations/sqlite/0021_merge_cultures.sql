-- +goose Up
-- The culture that one was merged into, and the origins that went along. It has no
-- foreign key: SQLite can't add a composite one to a table that is there.
ALTER TABLE cultures ADD COLUMN merged_into text;
ALTER TABLE cultures ADD COLUMN moved_origins text NOT NULL DEFAULT '[]'; -- JSON
