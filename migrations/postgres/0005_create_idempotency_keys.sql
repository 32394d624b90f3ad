-- +goose Up
CREATE TABLE idempotency_keys (
  club_id    text   NOT NULL,
  account_id text   NOT NULL,
  route      text   NOT NULL,
  key        text   NOT NULL,
  body_hash  text   NOT NULL,
  status     bigint NOT NULL,
  location   text   NOT NULL,
  etag       text   NOT NULL,
  type       text   NOT NULL,
  body       text   NOT NULL,
  created_at bigint NOT NULL,
  CONSTRAINT idempotency_keys_pkey PRIMARY KEY (club_id, account_id, route, key),
  CONSTRAINT idempotency_keys_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);
CREATE INDEX idempotency_keys_created ON idempotency_keys (club_id, created_at);

ALTER TABLE idempotency_keys ENABLE ROW LEVEL SECURITY;
ALTER TABLE idempotency_keys FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON idempotency_keys
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
