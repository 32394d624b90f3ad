-- +goose Up
CREATE TABLE recorded_sequence (
  only bigint NOT NULL CONSTRAINT recorded_sequence_only_check CHECK (only = 1),
  last bigint NOT NULL,
  CONSTRAINT recorded_sequence_pkey PRIMARY KEY (only)
);
INSERT INTO recorded_sequence (only, last) VALUES (1, 0);

CREATE TABLE movements (
  club_id         text   NOT NULL,
  id              text   NOT NULL,
  kind            text   NOT NULL,
  moment_at       bigint NOT NULL, -- the effective time
  moment_precision text NOT NULL,
  seq             bigint NOT NULL,
  recorded_at     bigint NOT NULL,
  recorded_by     text   NOT NULL,
  lines           text   NOT NULL, -- JSON: what was typed and what it became
  to_bin          text,
  from_batch      text,
  terms           text   NOT NULL,
  party           text   NOT NULL,
  from_member     text,
  to_member       text,
  price_minor     bigint CONSTRAINT movements_price_check CHECK (price_minor >= 0),
  currency        text   NOT NULL,
  cause           text   NOT NULL,
  material_mg     bigint NOT NULL CONSTRAINT movements_material_check CHECK (material_mg >= 0),
  reverses        text,
  reason          text   NOT NULL,
  note            text   NOT NULL,
  CONSTRAINT movements_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT movements_seq_key UNIQUE (club_id, seq),
  CONSTRAINT movements_reverses_key UNIQUE (club_id, reverses),
  CONSTRAINT movements_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id),
  CONSTRAINT movements_to_bin_fkey FOREIGN KEY (club_id, to_bin) REFERENCES bins (club_id, id),
  CONSTRAINT movements_from_batch_fkey FOREIGN KEY (club_id, from_batch) REFERENCES batches (club_id, id),
  CONSTRAINT movements_from_member_fkey FOREIGN KEY (club_id, from_member) REFERENCES members (club_id, id),
  CONSTRAINT movements_to_member_fkey FOREIGN KEY (club_id, to_member) REFERENCES members (club_id, id),
  CONSTRAINT movements_reverses_fkey FOREIGN KEY (club_id, reverses) REFERENCES movements (club_id, id)
);
CREATE INDEX movements_moment ON movements (club_id, moment_at, seq);

CREATE TABLE postings (
  club_id      text   NOT NULL,
  movement_id  text   NOT NULL,
  line         bigint NOT NULL,
  commodity    text   NOT NULL,
  account_kind text   NOT NULL,
  account_ref  text   NOT NULL, -- bin, batch or transfer; empty for the rest
  amount_mg    bigint NOT NULL CONSTRAINT postings_amount_check CHECK (amount_mg <> 0),
  origin_id    text,
  moment_at    bigint NOT NULL, -- of the movement, for reading one account in order
  seq          bigint NOT NULL,
  CONSTRAINT postings_pkey PRIMARY KEY (club_id, movement_id, line),
  CONSTRAINT postings_movement_fkey FOREIGN KEY (club_id, movement_id) REFERENCES movements (club_id, id),
  CONSTRAINT postings_origin_fkey FOREIGN KEY (club_id, origin_id) REFERENCES origins (club_id, id)
);
CREATE INDEX postings_account ON postings (club_id, account_kind, account_ref, commodity, moment_at, seq);

-- What each account holds now, kept in the posting's own transaction.
CREATE TABLE books (
  club_id      text   NOT NULL,
  account_kind text   NOT NULL,
  account_ref  text   NOT NULL,
  commodity    text   NOT NULL,
  book_mg      bigint NOT NULL,
  CONSTRAINT books_pkey PRIMARY KEY (club_id, account_kind, account_ref, commodity),
  CONSTRAINT books_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id),
  CONSTRAINT books_never_negative_check CHECK (book_mg >= 0 OR account_kind NOT IN ('bin', 'batch'))
);

CREATE TABLE lots (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  bin_id     text   NOT NULL,
  species_id text   NOT NULL,
  opened_by  text   NOT NULL,
  opened_at  bigint NOT NULL,
  opened_seq bigint NOT NULL,
  mass_mg    bigint NOT NULL,
  ended_at   bigint NOT NULL DEFAULT 0,
  ended_by   text,
  depth      bigint NOT NULL,
  member_id  text   NOT NULL,
  withdrawn  boolean NOT NULL,
  successor  text   NOT NULL DEFAULT '',
  CONSTRAINT lots_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT lots_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT lots_opened_by_fkey FOREIGN KEY (club_id, opened_by) REFERENCES movements (club_id, id),
  CONSTRAINT lots_ended_by_fkey FOREIGN KEY (club_id, ended_by) REFERENCES movements (club_id, id),
  CONSTRAINT lots_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id)
);
CREATE INDEX lots_place ON lots (club_id, bin_id, species_id, opened_at, opened_seq);

CREATE TABLE lot_parents (
  club_id   text   NOT NULL,
  lot_id    text   NOT NULL,
  line      bigint NOT NULL,
  parent_id text,           -- a lot …
  origin_id text   NOT NULL, -- … or an origin, "unknown" among them
  mass_mg   bigint NOT NULL,
  CONSTRAINT lot_parents_pkey PRIMARY KEY (club_id, lot_id, line),
  CONSTRAINT lot_parents_lot_fkey FOREIGN KEY (club_id, lot_id) REFERENCES lots (club_id, id),
  CONSTRAINT lot_parents_either_check CHECK ((parent_id IS NULL) = (origin_id <> ''))
);
CREATE INDEX lot_parents_parent ON lot_parents (club_id, parent_id);

CREATE TABLE lot_shares (
  club_id   text   NOT NULL,
  lot_id    text   NOT NULL,
  origin_id text   NOT NULL, -- "unknown" where nobody knows
  parts     bigint NOT NULL CONSTRAINT lot_shares_parts_check CHECK (parts > 0 AND parts <= 1000000000000),
  CONSTRAINT lot_shares_pkey PRIMARY KEY (club_id, lot_id, origin_id),
  CONSTRAINT lot_shares_lot_fkey FOREIGN KEY (club_id, lot_id) REFERENCES lots (club_id, id)
);
CREATE INDEX lot_shares_origin ON lot_shares (club_id, origin_id);
