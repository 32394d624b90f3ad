-- +goose Up
CREATE TABLE audit_entries (
  club_id      text   NOT NULL,
  id           text   NOT NULL,
  at           bigint NOT NULL,
  seq          bigint NOT NULL,
  member_id    text   NOT NULL, -- who did it
  key_id       text, -- the API key it was done by
  on_behalf_of text, -- as whose doing it stands in the book, where that is another's
  action       text   NOT NULL CONSTRAINT audit_entries_action_check CHECK (action IN ('add', 'change', 'void', 'reverse', 'remove', 'import')),
  noun         text   NOT NULL,
  record_id    text   NOT NULL, -- empty: no single record's
  changed      text   NOT NULL, -- JSON array of members, also of those whose values are not held
  before       text   NOT NULL, -- JSON object, or empty
  after        text   NOT NULL, -- JSON object, or empty
  CONSTRAINT audit_entries_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT audit_entries_seq_key UNIQUE (club_id, seq),
  CONSTRAINT audit_entries_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id),
  CONSTRAINT audit_entries_key_fkey FOREIGN KEY (club_id, key_id) REFERENCES api_keys (club_id, id),
  CONSTRAINT audit_entries_on_behalf_of_fkey FOREIGN KEY (club_id, on_behalf_of) REFERENCES members (club_id, id)
);
CREATE INDEX audit_entries_at ON audit_entries (club_id, at, seq);
CREATE INDEX audit_entries_record ON audit_entries (club_id, record_id, at, seq);
CREATE INDEX audit_entries_by_member ON audit_entries (club_id, member_id, at, seq);

ALTER TABLE audit_entries ENABLE ROW LEVEL SECURITY;
ALTER TABLE audit_entries FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON audit_entries
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

-- +goose StatementBegin
CREATE FUNCTION audit_entries_stay() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'an audit entry is never changed or removed';
END;
$$;
-- +goose StatementEnd
CREATE TRIGGER audit_entries_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON audit_entries
  FOR EACH STATEMENT EXECUTE FUNCTION audit_entries_stay();
