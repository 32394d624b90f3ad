-- +goose Up
-- The last day of the closed books, and why it was set; empty: all is open. The
-- days that an arrival spends in quarantine; 0: none begins by itself.
ALTER TABLE clubs ADD COLUMN closed_until text NOT NULL DEFAULT '';
ALTER TABLE clubs ADD COLUMN closed_why text NOT NULL DEFAULT '';
ALTER TABLE clubs ADD COLUMN quarantine_days bigint NOT NULL DEFAULT 0 CONSTRAINT clubs_quarantine_days_check CHECK (quarantine_days BETWEEN 0 AND 366);

-- What was written into closed books, and why.
CREATE TABLE late_entries (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  noun             text   NOT NULL,
  record_id        text   NOT NULL, -- empty: a whole import
  moment_at        bigint NOT NULL, -- in the closed books
  why              text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  version          bigint NOT NULL,
  CONSTRAINT late_entries_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT late_entries_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX late_entries_moment ON late_entries (club_id, moment_at, id);

CREATE TABLE quarantines (
  club_id            text   NOT NULL,
  id                 text   NOT NULL,
  bin_id             text   NOT NULL,
  moment_at          bigint NOT NULL, -- when it began
  moment_precision   text   NOT NULL,
  until_day          text   NOT NULL, -- planned; empty: not told
  reason             text   NOT NULL,
  released_at        bigint NOT NULL, -- 0: open
  released_precision text   NOT NULL,
  released_by        text,
  outcome            text   NOT NULL,
  released_note      text   NOT NULL,
  note               text   NOT NULL,
  seq                bigint NOT NULL,
  recorded_at        bigint NOT NULL,
  recorded_by        text   NOT NULL,
  voided_at          bigint NOT NULL DEFAULT 0,
  voided_by          text,
  version            bigint NOT NULL,
  CONSTRAINT quarantines_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT quarantines_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT quarantines_released_by_fkey FOREIGN KEY (club_id, released_by) REFERENCES members (club_id, id),
  CONSTRAINT quarantines_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id),
  CONSTRAINT quarantines_released_check CHECK (released_at = 0 OR released_at >= moment_at)
);
CREATE INDEX quarantines_moment ON quarantines (club_id, moment_at, id);
CREATE INDEX quarantines_bin ON quarantines (club_id, bin_id, moment_at, id);
