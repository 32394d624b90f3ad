-- +goose Up
CREATE TABLE receipts (
  club_id              text    NOT NULL,
  id                   text    NOT NULL,
  material_id          text    NOT NULL,
  moment_at            bigint  NOT NULL,
  moment_precision     text    NOT NULL,
  from_name            text    NOT NULL, -- an outside party
  from_member          text,
  typed_value          double precision NOT NULL,
  typed_unit           text    NOT NULL, -- UCUM code; empty: gross or a count tells
  gross_value          double precision NOT NULL,
  gross_unit           text    NOT NULL,
  tare_value           double precision NOT NULL,
  tare_unit            text    NOT NULL,
  measure_id           text,
  measure_count        double precision,
  net_mg               bigint  NOT NULL CONSTRAINT receipts_net_check CHECK (net_mg > 0),
  rejected_value       double precision NOT NULL,
  rejected_unit        text    NOT NULL,
  rejected_mg          bigint  NOT NULL,
  rejected_why         text    NOT NULL,
  residue_value        double precision NOT NULL,
  residue_unit         text    NOT NULL,
  residue_mg           bigint  NOT NULL,
  animal               boolean,          -- null: as the material
  heat_what            text    NOT NULL,
  heat_value           double precision NOT NULL,
  heat_unit            text    NOT NULL,
  heat_hours           double precision,
  basis                text    NOT NULL CONSTRAINT receipts_basis_check CHECK (basis IN ('weighed', 'estimated')),
  note                 text    NOT NULL,
  seq                  bigint  NOT NULL,
  recorded_at          bigint  NOT NULL,
  recorded_by          text    NOT NULL,
  voided_at            bigint  NOT NULL,
  voided_by            text,
  version              bigint  NOT NULL,
  CONSTRAINT receipts_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT receipts_parts_check CHECK (rejected_mg >= 0 AND residue_mg >= 0 AND rejected_mg + residue_mg <= net_mg),
  CONSTRAINT receipts_material_fkey FOREIGN KEY (club_id, material_id) REFERENCES materials (club_id, id),
  CONSTRAINT receipts_measure_fkey FOREIGN KEY (club_id, measure_id) REFERENCES measures (club_id, id),
  CONSTRAINT receipts_from_member_fkey FOREIGN KEY (club_id, from_member) REFERENCES members (club_id, id),
  CONSTRAINT receipts_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX receipts_moment ON receipts (club_id, moment_at, id);

-- What was fed came in with a receipt. SQLite can't add a composite foreign key
-- to a table, so the rows move to a new one.
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
  receipt_id    text,
  CONSTRAINT feeding_items_pkey PRIMARY KEY (club_id, feeding_id, line),
  CONSTRAINT feeding_items_feeding_fkey FOREIGN KEY (club_id, feeding_id) REFERENCES feedings (club_id, id),
  CONSTRAINT feeding_items_material_fkey FOREIGN KEY (club_id, material_id) REFERENCES materials (club_id, id),
  CONSTRAINT feeding_items_measure_fkey FOREIGN KEY (club_id, measure_id) REFERENCES measures (club_id, id),
  CONSTRAINT feeding_items_receipt_fkey FOREIGN KEY (club_id, receipt_id) REFERENCES receipts (club_id, id)
);
INSERT INTO feeding_items (club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, moisture_pct, weighed, measure_id, measure_count)
  SELECT club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, moisture_pct, weighed, measure_id, measure_count FROM feeding_items_before;
DROP TABLE feeding_items_before;
