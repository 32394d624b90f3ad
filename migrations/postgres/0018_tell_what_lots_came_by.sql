-- +goose Up
-- No parent, but a lot under way that some of the lot came by: its parents look
-- through it, its shares are mixed from it.
ALTER TABLE lot_parents ADD COLUMN via boolean NOT NULL DEFAULT false;
