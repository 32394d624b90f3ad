-- +goose Up
-- Tables that belong to no club.
CREATE TABLE sessions (
  id         text   NOT NULL, -- the family of refresh tokens
  account_id text   NOT NULL,
  generation bigint NOT NULL, -- of the newest refresh token
  created_at bigint NOT NULL,
  rotated_at bigint NOT NULL,
  expires_at bigint NOT NULL,
  ended_at   bigint NOT NULL,
  why        text   NOT NULL,
  CONSTRAINT sessions_pkey PRIMARY KEY (id),
  CONSTRAINT sessions_account_fkey FOREIGN KEY (account_id) REFERENCES accounts (id)
);
CREATE INDEX sessions_account ON sessions (account_id, rotated_at);

CREATE TABLE codes (
  hash       text   NOT NULL,
  purpose    text   NOT NULL CONSTRAINT codes_purpose_check CHECK (purpose IN ('recovery', 'founding')),
  account_id text,            -- whose account it opens; NULL: nobody's yet
  created_at bigint NOT NULL,
  expires_at bigint NOT NULL,
  CONSTRAINT codes_pkey PRIMARY KEY (hash),
  CONSTRAINT codes_account_fkey FOREIGN KEY (account_id) REFERENCES accounts (id)
);
CREATE INDEX codes_account ON codes (account_id);
