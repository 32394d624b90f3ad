-- +goose Up
-- Every lot number that was ever given, with the batch that has or had it: none is
-- given twice.
CREATE TABLE lot_numbers (
  club_id  text NOT NULL,
  id       text NOT NULL, -- the number as printed
  batch_id text NOT NULL, -- may be gone
  CONSTRAINT lot_numbers_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT lot_numbers_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);
INSERT INTO lot_numbers (club_id, id, batch_id) SELECT club_id, lot_number, id FROM batches;

-- Batches made of batches; each is a movement as well.
CREATE TABLE reworks (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  kind             text   NOT NULL CONSTRAINT reworks_kind_check CHECK (kind IN ('screening', 'blending')),
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  lost_mg          bigint NOT NULL CONSTRAINT reworks_lost_check CHECK (lost_mg >= 0), -- dry
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  version          bigint NOT NULL,
  CONSTRAINT reworks_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT reworks_movement_fkey FOREIGN KEY (club_id, id) REFERENCES movements (club_id, id),
  CONSTRAINT reworks_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX reworks_moment ON reworks (club_id, moment_at, id);

CREATE TABLE rework_parts (
  club_id      text    NOT NULL,
  rework_id    text    NOT NULL,
  line         bigint  NOT NULL,
  comes_out    boolean NOT NULL, -- of the work; else it goes in
  batch_id     text    NOT NULL,
  typed_value  double precision NOT NULL,
  typed_unit   text    NOT NULL, -- UCUM code; empty: all of it, or the rest
  moisture_pct double precision CONSTRAINT rework_parts_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  wet_mg       bigint  NOT NULL,
  assumed      boolean NOT NULL, -- nobody measured the moisture
  dry_mg       bigint  NOT NULL CONSTRAINT rework_parts_dry_check CHECK (dry_mg > 0 AND wet_mg >= dry_mg),
  CONSTRAINT rework_parts_pkey PRIMARY KEY (club_id, rework_id, line),
  CONSTRAINT rework_parts_rework_fkey FOREIGN KEY (club_id, rework_id) REFERENCES reworks (club_id, id),
  CONSTRAINT rework_parts_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id)
);
CREATE INDEX rework_parts_batch ON rework_parts (club_id, batch_id);

-- What was done to a batch and found in it, without dry matter moving.
CREATE TABLE batch_steps (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  batch_id         text   NOT NULL,
  kind             text   NOT NULL CONSTRAINT batch_steps_kind_check CHECK (kind IN ('drying', 'bagging', 'treatment', 'analysis')),
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  moisture_pct     double precision CONSTRAINT batch_steps_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  typed_value      double precision NOT NULL,
  typed_unit       text   NOT NULL,
  wet_mg           bigint NOT NULL CONSTRAINT batch_steps_wet_check CHECK (wet_mg >= 0),
  bags             bigint NOT NULL,
  bags_left        bigint NOT NULL CONSTRAINT batch_steps_bags_check CHECK (bags_left BETWEEN 0 AND bags),
  what             text   NOT NULL,
  heat_value       double precision NOT NULL,
  heat_unit        text   NOT NULL,
  heat_hours       double precision,
  parameter        text   NOT NULL,
  limit_sign       text   NOT NULL,
  found            double precision,
  found_unit       text   NOT NULL,
  method           text   NOT NULL,
  laboratory       text   NOT NULL,
  expires_on       text   NOT NULL, -- a day; empty: never
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  voided_at        bigint NOT NULL,
  voided_by        text,
  version          bigint NOT NULL,
  CONSTRAINT batch_steps_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT batch_steps_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id),
  CONSTRAINT batch_steps_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX batch_steps_moment ON batch_steps (club_id, moment_at, id);
CREATE INDEX batch_steps_batch ON batch_steps (club_id, batch_id, moment_at, id);
