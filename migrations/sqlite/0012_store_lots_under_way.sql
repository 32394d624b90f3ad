-- +goose Up
-- Shares move into the row of their lot, and lots of transfers are kept too. A
-- table can't lose a NOT NULL here, so it is made anew.
CREATE TABLE kept_lots AS
SELECT *, coalesce((
  SELECT unhex(group_concat(
    CASE WHEN origin_id GLOB '????????-????-????-????-????????????'
      AND replace(origin_id, '-', '') NOT GLOB '*[^0-9a-f]*' AND length(replace(origin_id, '-', '')) = 32
      THEN '00' || replace(origin_id, '-', '')
      ELSE printf('%02x', length(CAST(origin_id AS blob))) || hex(origin_id)
    END || printf('%010x', parts), '' ORDER BY origin_id))
  FROM lot_shares AS s WHERE s.club_id = lots.club_id AND s.lot_id = lots.id
), x'') AS shares
FROM lots;
CREATE TABLE kept_parents AS SELECT * FROM lot_parents;
DROP TABLE lot_shares;
DROP TABLE lot_parents;
DROP TABLE lots;

CREATE TABLE lots (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  bin_id     text,
  transit    text   NOT NULL DEFAULT '', -- of a lot under way: the transfer
  species_id text   NOT NULL,
  opened_by  text   NOT NULL,
  opened_at  bigint NOT NULL,
  opened_seq bigint NOT NULL,
  mass_mg    bigint NOT NULL,
  ended_at   bigint NOT NULL DEFAULT 0,
  ended_by   text,
  depth      bigint NOT NULL,
  member_id  text   NOT NULL,
  withdrawn  boolean NOT NULL,
  successor  text   NOT NULL DEFAULT '',
  shares     blob   NOT NULL DEFAULT x'', -- see repo/shares.go
  CONSTRAINT lots_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT lots_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT lots_opened_by_fkey FOREIGN KEY (club_id, opened_by) REFERENCES movements (club_id, id),
  CONSTRAINT lots_ended_by_fkey FOREIGN KEY (club_id, ended_by) REFERENCES movements (club_id, id),
  CONSTRAINT lots_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id),
  CONSTRAINT lots_either_check CHECK ((bin_id IS NULL) = (transit <> ''))
);
INSERT INTO lots (
  club_id, id, bin_id, species_id, opened_by, opened_at, opened_seq, mass_mg, ended_at, ended_by, depth, member_id, withdrawn, successor, shares
) SELECT
  club_id, id, bin_id, species_id, opened_by, opened_at, opened_seq, mass_mg, ended_at, ended_by, depth, member_id, withdrawn, successor, shares
FROM kept_lots;
CREATE INDEX lots_place ON lots (club_id, bin_id, species_id, opened_at, opened_seq);
CREATE INDEX lots_transit ON lots (club_id, transit) WHERE transit <> '';

CREATE TABLE lot_parents (
  club_id   text   NOT NULL,
  lot_id    text   NOT NULL,
  line      bigint NOT NULL,
  parent_id text,           -- a lot …
  origin_id text   NOT NULL, -- … or an origin, "unknown" among them
  mass_mg   bigint NOT NULL,
  CONSTRAINT lot_parents_pkey PRIMARY KEY (club_id, lot_id, line),
  CONSTRAINT lot_parents_lot_fkey FOREIGN KEY (club_id, lot_id) REFERENCES lots (club_id, id),
  CONSTRAINT lot_parents_either_check CHECK ((parent_id IS NULL) = (origin_id <> ''))
);
INSERT INTO lot_parents (club_id, lot_id, line, parent_id, origin_id, mass_mg)
SELECT club_id, lot_id, line, parent_id, origin_id, mass_mg FROM kept_parents;
CREATE INDEX lot_parents_parent ON lot_parents (club_id, parent_id);
DROP TABLE kept_lots;
DROP TABLE kept_parents;
