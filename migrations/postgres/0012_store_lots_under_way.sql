-- +goose Up
-- Shares move into the row of their lot, and lots of transfers are kept too. The
-- owner has to see the rows of all clubs for that.
ALTER TABLE lots NO FORCE ROW LEVEL SECURITY;
ALTER TABLE lot_shares NO FORCE ROW LEVEL SECURITY;

ALTER TABLE lots ALTER COLUMN bin_id DROP NOT NULL;
ALTER TABLE lots ADD COLUMN transit text NOT NULL DEFAULT ''; -- of a lot under way: the transfer
ALTER TABLE lots ADD COLUMN shares bytea NOT NULL DEFAULT ''; -- see repo/shares.go
ALTER TABLE lots ALTER COLUMN shares SET STORAGE EXTERNAL;    -- ids don't compress
ALTER TABLE lots ADD CONSTRAINT lots_either_check CHECK ((bin_id IS NULL) = (transit <> ''));

UPDATE lots SET shares = s.shares
FROM (
  SELECT club_id, lot_id, string_agg(
    CASE WHEN origin_id ~ '^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$'
      THEN '\x00'::bytea || decode(replace(origin_id, '-', ''), 'hex')
      ELSE substring(int4send(octet_length(origin_id)) FROM 4) || convert_to(origin_id, 'UTF8')
    END || substring(int8send(parts) FROM 4), ''::bytea ORDER BY origin_id COLLATE "C") AS shares
  FROM lot_shares GROUP BY club_id, lot_id
) AS s
WHERE lots.club_id = s.club_id AND lots.id = s.lot_id;
DROP TABLE lot_shares;

CREATE INDEX lots_transit ON lots (club_id, transit) WHERE transit <> '';
ALTER TABLE lots FORCE ROW LEVEL SECURITY;
