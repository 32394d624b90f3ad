-- +goose Up
-- The thresholds of the due list as JSON; empty: the default ones.
ALTER TABLE clubs ADD COLUMN due_rules text NOT NULL DEFAULT '';

-- Private links to the due list as a calendar.
CREATE TABLE calendars (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  name       text   NOT NULL,
  member_id  text   NOT NULL, -- whose due list it is, and as whom it reads
  whole      boolean NOT NULL, -- of the whole club
  hash       text   NOT NULL,
  created_at bigint NOT NULL,
  revoked_at bigint NOT NULL DEFAULT 0,
  version    bigint NOT NULL,
  CONSTRAINT calendars_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT calendars_hash_key UNIQUE (club_id, hash),
  CONSTRAINT calendars_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id)
);
CREATE INDEX calendars_member ON calendars (club_id, member_id);
