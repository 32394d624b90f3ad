-- +goose Up
CREATE TABLE measures (
  club_id      text   NOT NULL,
  id           text   NOT NULL,
  name         text   NOT NULL,
  volume_value double precision NOT NULL CONSTRAINT measures_volume_check CHECK (volume_value >= 0),
  volume_unit  text   NOT NULL, -- UCUM code; empty: not known
  tare_value   double precision NOT NULL CONSTRAINT measures_tare_check CHECK (tare_value >= 0),
  tare_unit    text   NOT NULL, -- UCUM code; empty: not known
  note         text   NOT NULL,
  created_at   bigint NOT NULL,
  version      bigint NOT NULL,
  CONSTRAINT measures_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT measures_name_key UNIQUE (club_id, name),
  CONSTRAINT measures_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

-- With what an item was measured, and how many of it.
ALTER TABLE feeding_items ADD COLUMN measure_id text;
ALTER TABLE feeding_items ADD COLUMN measure_count double precision;
ALTER TABLE feeding_items ADD CONSTRAINT feeding_items_measure_fkey FOREIGN KEY (club_id, measure_id) REFERENCES measures (club_id, id);

ALTER TABLE measures ENABLE ROW LEVEL SECURITY;
ALTER TABLE measures FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON measures
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
