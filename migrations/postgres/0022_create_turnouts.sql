-- +goose Up
-- How many took part: households on a day, hours that volunteers gave up to then.
CREATE TABLE turnouts (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  households       double precision CONSTRAINT turnouts_households_check CHECK (households >= 0), -- null: not told
  hours            double precision CONSTRAINT turnouts_hours_check CHECK (hours >= 0),           -- null: not told
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  voided_at        bigint NOT NULL,
  voided_by        text,
  version          bigint NOT NULL,
  CONSTRAINT turnouts_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT turnouts_told_check CHECK (households IS NOT NULL OR hours IS NOT NULL),
  CONSTRAINT turnouts_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX turnouts_moment ON turnouts (club_id, moment_at, id);

ALTER TABLE turnouts ENABLE ROW LEVEL SECURITY;
ALTER TABLE turnouts FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON turnouts
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
