-- +goose Up
-- Who was erased, by id, so that it can be done again after a restore.
CREATE TABLE erasures (
  club_id   text   NOT NULL,
  id        text   NOT NULL, -- the member's
  erased_at bigint NOT NULL,
  erased_by text   NOT NULL,
  CONSTRAINT erasures_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT erasures_member_fkey FOREIGN KEY (club_id, id) REFERENCES members (club_id, id),
  CONSTRAINT erasures_by_fkey FOREIGN KEY (club_id, erased_by) REFERENCES members (club_id, id)
);
