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

-- What was fed came in with a receipt.
ALTER TABLE feeding_items ADD COLUMN receipt_id text;
ALTER TABLE feeding_items ADD CONSTRAINT feeding_items_receipt_fkey FOREIGN KEY (club_id, receipt_id) REFERENCES receipts (club_id, id);

ALTER TABLE receipts ENABLE ROW LEVEL SECURITY;
ALTER TABLE receipts FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON receipts
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
