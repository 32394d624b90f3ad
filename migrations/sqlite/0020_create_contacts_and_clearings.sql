-- +goose Up
-- Tools or bedding that bins shared without a cleaning between.
CREATE TABLE contacts (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  what             text   NOT NULL CONSTRAINT contacts_what_check CHECK (what IN ('tools', 'bedding', 'other')),
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  voided_at        bigint NOT NULL DEFAULT 0,
  voided_by        text,
  version          bigint NOT NULL,
  CONSTRAINT contacts_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT contacts_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX contacts_moment ON contacts (club_id, moment_at, id);

CREATE TABLE contact_bins (
  club_id    text   NOT NULL,
  contact_id text   NOT NULL,
  line       bigint NOT NULL,
  bin_id     text   NOT NULL,
  CONSTRAINT contact_bins_pkey PRIMARY KEY (club_id, contact_id, line),
  CONSTRAINT contact_bins_contact_fkey FOREIGN KEY (club_id, contact_id) REFERENCES contacts (club_id, id),
  CONSTRAINT contact_bins_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id)
);
CREATE INDEX contact_bins_bin ON contact_bins (club_id, bin_id);

-- A place that was cleared: one bin, batch or receipt.
CREATE TABLE clearings (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  bin_id           text,
  batch_id         text,
  receipt_id       text,
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  how              text   NOT NULL,
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  voided_at        bigint NOT NULL DEFAULT 0,
  voided_by        text,
  version          bigint NOT NULL,
  CONSTRAINT clearings_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT clearings_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT clearings_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id),
  CONSTRAINT clearings_receipt_fkey FOREIGN KEY (club_id, receipt_id) REFERENCES receipts (club_id, id),
  CONSTRAINT clearings_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id),
  CONSTRAINT clearings_place_check CHECK (
    CASE WHEN bin_id IS NULL THEN 0 ELSE 1 END + CASE WHEN batch_id IS NULL THEN 0 ELSE 1 END + CASE WHEN receipt_id IS NULL THEN 0 ELSE 1 END = 1
  )
);
CREATE INDEX clearings_moment ON clearings (club_id, moment_at, id);
CREATE INDEX clearings_bin ON clearings (club_id, bin_id, moment_at, id);
