-- +goose Up
-- What a club's records of one local month add up to, kept in the transaction of
-- each record. A key has empty texts where a total isn't about that.
CREATE TABLE monthly_totals (
  club_id     text   NOT NULL,
  month       text   NOT NULL, -- as 2026-07, in the club's zone; empty: see kind "rules"
  bin_id      text   NOT NULL,
  kind        text   NOT NULL,
  species_id  text   NOT NULL,
  material_id text   NOT NULL,
  member_id   text   NOT NULL,
  records     bigint NOT NULL,
  mass_mg     bigint NOT NULL,
  dry_mg      bigint NOT NULL,
  weighed_mg  bigint NOT NULL,
  minor       bigint NOT NULL, -- money, in minor units of the currency that kind names
  CONSTRAINT monthly_totals_pkey PRIMARY KEY (club_id, month, bin_id, kind, species_id, material_id, member_id),
  CONSTRAINT monthly_totals_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

ALTER TABLE monthly_totals ENABLE ROW LEVEL SECURITY;
ALTER TABLE monthly_totals FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON monthly_totals
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
