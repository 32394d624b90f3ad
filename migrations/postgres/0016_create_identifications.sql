-- +goose Up
-- Dated statements on lots. Lots are derived again and again, so no foreign key
-- leads to them; the id of a lot stays.
CREATE TABLE identifications (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  lot_id           text   NOT NULL,
  species_id       text   NOT NULL, -- that was found
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  method           text   NOT NULL,
  specimens        bigint NOT NULL CONSTRAINT identifications_specimens_check CHECK (specimens >= 0), -- 0: not told
  identified_by    text   NOT NULL,
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  voided_at        bigint NOT NULL DEFAULT 0,
  voided_by        text,
  version          bigint NOT NULL,
  CONSTRAINT identifications_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT identifications_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX identifications_moment ON identifications (club_id, moment_at, id);

ALTER TABLE identifications ENABLE ROW LEVEL SECURITY;
ALTER TABLE identifications FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON identifications
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
