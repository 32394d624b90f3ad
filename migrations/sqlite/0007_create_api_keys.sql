-- +goose Up
CREATE TABLE api_keys (
  club_id      text   NOT NULL,
  id           text   NOT NULL,
  name         text   NOT NULL,
  member_id    text   NOT NULL, -- as whom it acts
  role         text   NOT NULL CONSTRAINT api_keys_role_check CHECK (role IN ('', 'keeper', 'reader')), -- empty: the member's
  scopes       text   NOT NULL, -- JSON array
  hash         text   NOT NULL,
  made_by      text   NOT NULL,
  created_at   bigint NOT NULL,
  expires_at   bigint NOT NULL,
  last_used_at bigint NOT NULL DEFAULT 0,
  revoked_at   bigint NOT NULL DEFAULT 0,
  version      bigint NOT NULL,
  CONSTRAINT api_keys_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT api_keys_hash_key UNIQUE (club_id, hash),
  CONSTRAINT api_keys_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id),
  CONSTRAINT api_keys_made_by_fkey FOREIGN KEY (club_id, made_by) REFERENCES members (club_id, id)
);
CREATE INDEX api_keys_member ON api_keys (club_id, member_id);

ALTER TABLE members ADD COLUMN left_at bigint NOT NULL DEFAULT 0;
ALTER TABLE invitations ADD COLUMN revoked_at bigint NOT NULL DEFAULT 0;
ALTER TABLE clubs ADD COLUMN season_by text NOT NULL DEFAULT 'seasons' CONSTRAINT clubs_season_by_check CHECK (season_by IN ('seasons', 'quarters'));
ALTER TABLE clubs ADD COLUMN allowed_origins text NOT NULL DEFAULT '[]'; -- JSON array
ALTER TABLE clubs ADD COLUMN version bigint NOT NULL DEFAULT 1;
