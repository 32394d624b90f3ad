-- +goose Up
-- What a club shows to everybody: nothing, unless its stewards say so.
ALTER TABLE clubs ADD COLUMN publish_season boolean NOT NULL DEFAULT false;
ALTER TABLE clubs ADD COLUMN publish_offers boolean NOT NULL DEFAULT false;
ALTER TABLE cultures ADD COLUMN published boolean NOT NULL DEFAULT false;
-- The name under which a member agrees to be shown; empty: under a pseudonym.
ALTER TABLE members ADD COLUMN public_name text NOT NULL DEFAULT '';
