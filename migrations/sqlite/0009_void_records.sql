-- +goose Up
-- Who voided a record, and when; 0: it stands.
ALTER TABLE feedings ADD COLUMN voided_at bigint NOT NULL DEFAULT 0;
ALTER TABLE feedings ADD COLUMN voided_by text;
ALTER TABLE checks ADD COLUMN voided_at bigint NOT NULL DEFAULT 0;
ALTER TABLE checks ADD COLUMN voided_by text;
