-- +goose Up
-- Tables that belong to no club.
CREATE TABLE accounts (
  id              text   NOT NULL,
  email           text   NOT NULL,
  name            text   NOT NULL,
  passphrase_hash text   NOT NULL,
  created_at      bigint NOT NULL, -- every *_at: microseconds since 1970 UTC
  CONSTRAINT accounts_pkey PRIMARY KEY (id),
  CONSTRAINT accounts_email_key UNIQUE (email)
);

CREATE TABLE clubs (
  id              text   NOT NULL,
  handle          text   NOT NULL,
  name            text   NOT NULL,
  time_zone       text   NOT NULL,
  hemisphere      text   NOT NULL CONSTRAINT clubs_hemisphere_check CHECK (hemisphere IN ('north', 'south')),
  units           text   NOT NULL CONSTRAINT clubs_units_check CHECK (units IN ('metric', 'us')),
  currency        text   NOT NULL,
  retention_years bigint NOT NULL,
  created_at      bigint NOT NULL,
  CONSTRAINT clubs_pkey PRIMARY KEY (id),
  CONSTRAINT clubs_handle_key UNIQUE (handle)
);

CREATE TABLE memberships (
  account_id text NOT NULL,
  club_id    text NOT NULL,
  CONSTRAINT memberships_pkey PRIMARY KEY (account_id, club_id),
  CONSTRAINT memberships_account_fkey FOREIGN KEY (account_id) REFERENCES accounts (id),
  CONSTRAINT memberships_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

CREATE TABLE signing_keys (
  id         text   NOT NULL,
  pem        text   NOT NULL,
  created_at bigint NOT NULL,
  retired_at bigint NOT NULL DEFAULT 0,
  CONSTRAINT signing_keys_pkey PRIMARY KEY (id)
);

CREATE TABLE secrets (
  name  text NOT NULL,
  value text NOT NULL,
  CONSTRAINT secrets_pkey PRIMARY KEY (name)
);
