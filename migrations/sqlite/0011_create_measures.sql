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

-- With what an item was measured, and how many of it. SQLite can't add a
-- composite foreign key to a table, so the rows move to a new one.
ALTER TABLE feeding_items RENAME TO feeding_items_before;
CREATE TABLE feeding_items (
  club_id       text    NOT NULL,
  feeding_id    text    NOT NULL,
  line          bigint  NOT NULL,
  material_id   text    NOT NULL,
  typed_value   double precision NOT NULL,
  typed_unit    text    NOT NULL,
  wet_mg        bigint  NOT NULL CONSTRAINT feeding_items_wet_check CHECK (wet_mg > 0),
  moisture_pct  double precision CONSTRAINT feeding_items_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  weighed       boolean NOT NULL,
  measure_id    text,
  measure_count double precision,
  CONSTRAINT feeding_items_pkey PRIMARY KEY (club_id, feeding_id, line),
  CONSTRAINT feeding_items_feeding_fkey FOREIGN KEY (club_id, feeding_id) REFERENCES feedings (club_id, id),
  CONSTRAINT feeding_items_material_fkey FOREIGN KEY (club_id, material_id) REFERENCES materials (club_id, id),
  CONSTRAINT feeding_items_measure_fkey FOREIGN KEY (club_id, measure_id) REFERENCES measures (club_id, id)
);
INSERT INTO feeding_items (club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, moisture_pct, weighed)
  SELECT club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, moisture_pct, weighed FROM feeding_items_before;
DROP TABLE feeding_items_before;
