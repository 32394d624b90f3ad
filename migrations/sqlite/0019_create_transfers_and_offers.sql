-- +goose Up
-- How many days stock is kept for a transfer.
ALTER TABLE clubs ADD COLUMN promise_days bigint NOT NULL DEFAULT 14;

-- Of an entry that a transfer posts. They have no foreign key: SQLite can't add
-- a composite one to a table that is there.
ALTER TABLE movements ADD COLUMN transfer_id text;
ALTER TABLE movements ADD COLUMN leg_id text;
ALTER TABLE movements ADD COLUMN to_batch text;

CREATE TABLE offers (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  member_id        text   NOT NULL,
  what             text   NOT NULL,
  species_id       text   NOT NULL, -- empty: castings or material
  bin_id           text,
  batch_id         text,
  quantity_value   double precision NOT NULL CONSTRAINT offers_quantity_check CHECK (quantity_value >= 0),
  quantity_unit    text   NOT NULL, -- UCUM code; empty: not told
  terms            text   NOT NULL, -- JSON array
  price_minor      bigint CONSTRAINT offers_price_check CHECK (price_minor >= 0),
  unit_price_minor bigint CONSTRAINT offers_unit_price_check CHECK (unit_price_minor >= 0),
  price_unit       text   NOT NULL,
  currency         text   NOT NULL,
  until            text   NOT NULL, -- a date; empty: until it is withdrawn
  withdrawn_at     bigint NOT NULL, -- 0: it stands
  note             text   NOT NULL,
  created_at       bigint NOT NULL,
  version          bigint NOT NULL,
  CONSTRAINT offers_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT offers_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id),
  CONSTRAINT offers_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT offers_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id)
);

CREATE TABLE transfers (
  club_id          text    NOT NULL,
  id               text    NOT NULL,
  moment_at        bigint  NOT NULL, -- when it was proposed, or happened
  moment_precision text    NOT NULL,
  done             boolean NOT NULL, -- told after it had happened
  open             boolean NOT NULL, -- something may still happen; promises may have expired since
  terms            text    NOT NULL,
  proposer         text,
  giver            text,             -- of the first leg; null: the outside party
  receiver         text,
  accepted         boolean NOT NULL,
  ended            text    NOT NULL, -- declined or cancelled; else empty
  expires_at       bigint  NOT NULL,
  legs             text    NOT NULL, -- JSON: the deal's legs, masses in mg
  waivers          text    NOT NULL, -- JSON array of members
  forgiven         text    NOT NULL, -- JSON, masses in mg
  typed            text    NOT NULL, -- JSON: what was typed for each leg, and the entries that post it
  party            text    NOT NULL,
  contact          text    NOT NULL,
  contact_purpose  text    NOT NULL,
  contact_until    text    NOT NULL, -- a date
  price_minor      bigint  CONSTRAINT transfers_price_check CHECK (price_minor >= 0),
  unit_price_minor bigint  CONSTRAINT transfers_unit_price_check CHECK (unit_price_minor >= 0),
  price_unit       text    NOT NULL,
  currency         text    NOT NULL,
  due              text    NOT NULL, -- a date
  offer_id         text,
  replaces         text,
  claims           text    NOT NULL, -- JSON
  steps            text    NOT NULL, -- JSON
  note             text    NOT NULL,
  seq              bigint  NOT NULL,
  recorded_at      bigint  NOT NULL,
  recorded_by      text    NOT NULL,
  version          bigint  NOT NULL,
  CONSTRAINT transfers_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT transfers_proposer_fkey FOREIGN KEY (club_id, proposer) REFERENCES members (club_id, id),
  CONSTRAINT transfers_giver_fkey FOREIGN KEY (club_id, giver) REFERENCES members (club_id, id),
  CONSTRAINT transfers_receiver_fkey FOREIGN KEY (club_id, receiver) REFERENCES members (club_id, id),
  CONSTRAINT transfers_offer_fkey FOREIGN KEY (club_id, offer_id) REFERENCES offers (club_id, id),
  CONSTRAINT transfers_replaces_fkey FOREIGN KEY (club_id, replaces) REFERENCES transfers (club_id, id),
  CONSTRAINT transfers_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX transfers_moment ON transfers (club_id, moment_at, id);
CREATE INDEX transfers_open ON transfers (club_id, open);

-- The bins, batches and origins that a transfer's legs name, which therefore stay.
CREATE TABLE transfer_places (
  club_id     text   NOT NULL,
  transfer_id text   NOT NULL,
  line        bigint NOT NULL,
  bin_id      text,
  batch_id    text,
  origin_id   text,
  CONSTRAINT transfer_places_pkey PRIMARY KEY (club_id, transfer_id, line),
  CONSTRAINT transfer_places_transfer_fkey FOREIGN KEY (club_id, transfer_id) REFERENCES transfers (club_id, id),
  CONSTRAINT transfer_places_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT transfer_places_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id),
  CONSTRAINT transfer_places_origin_fkey FOREIGN KEY (club_id, origin_id) REFERENCES origins (club_id, id)
);
CREATE INDEX transfer_places_bin ON transfer_places (club_id, bin_id);
