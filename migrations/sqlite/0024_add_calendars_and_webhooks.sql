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

-- Addresses that are told of events. Their secrets are made from a key in secrets.
CREATE TABLE webhooks (
  club_id    text    NOT NULL,
  id         text    NOT NULL,
  name       text    NOT NULL,
  url        text    NOT NULL,
  events     text    NOT NULL, -- JSON array
  enabled    boolean NOT NULL,
  gone_at    bigint  NOT NULL DEFAULT 0,
  generation bigint  NOT NULL, -- of the secret
  rotated_at bigint  NOT NULL DEFAULT 0,
  created_at bigint  NOT NULL,
  version    bigint  NOT NULL,
  CONSTRAINT webhooks_pkey PRIMARY KEY (club_id, id)
);

CREATE TABLE deliveries (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  webhook_id text   NOT NULL,
  message_id text   NOT NULL, -- of the event, for each webhook the same
  event      text   NOT NULL,
  moment_at  bigint NOT NULL,
  body       text   NOT NULL, -- JSON
  state      text   NOT NULL CONSTRAINT deliveries_state_check CHECK (state IN ('pending', 'delivered', 'given-up')),
  attempts   text   NOT NULL, -- JSON array
  version    bigint NOT NULL,
  CONSTRAINT deliveries_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT deliveries_webhook_fkey FOREIGN KEY (club_id, webhook_id) REFERENCES webhooks (club_id, id)
);
CREATE INDEX deliveries_moment ON deliveries (club_id, moment_at, id);
CREATE INDEX deliveries_webhook ON deliveries (club_id, webhook_id, moment_at, id);
