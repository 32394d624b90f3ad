-- +goose Up
CREATE TABLE members (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  account_id text, -- null: kept on paper
  name       text   NOT NULL,
  role       text   NOT NULL CONSTRAINT members_role_check CHECK (role IN ('steward', 'keeper', 'reader')),
  created_at bigint NOT NULL,
  version    bigint NOT NULL,
  CONSTRAINT members_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT members_account_key UNIQUE (club_id, account_id),
  CONSTRAINT members_name_key UNIQUE (club_id, name),
  CONSTRAINT members_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

CREATE TABLE invitations (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  member_id  text,
  email      text   NOT NULL,
  name       text   NOT NULL,
  role       text   NOT NULL CONSTRAINT invitations_role_check CHECK (role IN ('steward', 'keeper', 'reader')),
  code_hash  text   NOT NULL,
  invited_by text   NOT NULL,
  created_at bigint NOT NULL,
  expires_at bigint NOT NULL,
  used_at    bigint NOT NULL DEFAULT 0,
  version    bigint NOT NULL,
  CONSTRAINT invitations_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT invitations_code_key UNIQUE (club_id, code_hash),
  CONSTRAINT invitations_member_fkey FOREIGN KEY (club_id, member_id) REFERENCES members (club_id, id),
  CONSTRAINT invitations_invited_by_fkey FOREIGN KEY (club_id, invited_by) REFERENCES members (club_id, id)
);

CREATE TABLE sites (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  name       text   NOT NULL,
  address    text   NOT NULL,
  owner_id   text   NOT NULL,
  note       text   NOT NULL,
  created_at bigint NOT NULL,
  version    bigint NOT NULL,
  CONSTRAINT sites_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT sites_name_key UNIQUE (club_id, name),
  CONSTRAINT sites_owner_fkey FOREIGN KEY (club_id, owner_id) REFERENCES members (club_id, id)
);

CREATE TABLE bins (
  club_id          text    NOT NULL,
  id               text    NOT NULL,
  name             text    NOT NULL,
  kind             text    NOT NULL,
  site_id          text    NOT NULL,
  keeper_id        text    NOT NULL,
  stand_ins        text    NOT NULL, -- JSON array of member ids
  surface_m2       double precision NOT NULL CONSTRAINT bins_surface_check CHECK (surface_m2 >= 0),
  depth_cm         double precision NOT NULL CONSTRAINT bins_depth_check CHECK (depth_cm >= 0),
  started_at       bigint  NOT NULL,
  started_precision text  NOT NULL,
  retired_at       bigint  NOT NULL DEFAULT 0,
  retired_precision text  NOT NULL DEFAULT '',
  retired_why      text    NOT NULL DEFAULT '',
  note             text    NOT NULL,
  created_at       bigint  NOT NULL,
  version          bigint  NOT NULL,
  CONSTRAINT bins_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT bins_name_key UNIQUE (club_id, name),
  CONSTRAINT bins_site_fkey FOREIGN KEY (club_id, site_id) REFERENCES sites (club_id, id),
  CONSTRAINT bins_keeper_fkey FOREIGN KEY (club_id, keeper_id) REFERENCES members (club_id, id)
);

CREATE TABLE materials (
  club_id         text    NOT NULL,
  id              text    NOT NULL,
  name            text    NOT NULL,
  kind            text    NOT NULL CONSTRAINT materials_kind_check CHECK (kind IN ('feed', 'bedding', 'amendment')),
  feedstock       text    NOT NULL,
  moisture_pct    double precision CONSTRAINT materials_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  nitrogen_pct    double precision,
  carbon_ratio    double precision,
  density_g_per_l double precision CONSTRAINT materials_density_check CHECK (density_g_per_l > 0),
  animal_origin   boolean NOT NULL,
  slow            boolean NOT NULL,
  note            text    NOT NULL,
  created_at      bigint  NOT NULL,
  version         bigint  NOT NULL,
  CONSTRAINT materials_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT materials_name_key UNIQUE (club_id, name),
  CONSTRAINT materials_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

CREATE TABLE cultures (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  name       text   NOT NULL,
  species_id text   NOT NULL,
  note       text   NOT NULL,
  created_at bigint NOT NULL,
  version    bigint NOT NULL,
  CONSTRAINT cultures_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT cultures_name_key UNIQUE (club_id, name),
  CONSTRAINT cultures_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

CREATE TABLE origins (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  name       text   NOT NULL,
  kind       text   NOT NULL CONSTRAINT origins_kind_check CHECK (kind IN ('supplier', 'wild', 'certificate', 'unknown')),
  species_id text   NOT NULL,
  culture_id text,
  note       text   NOT NULL,
  created_at bigint NOT NULL,
  version    bigint NOT NULL,
  CONSTRAINT origins_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT origins_name_key UNIQUE (club_id, name),
  CONSTRAINT origins_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id),
  CONSTRAINT origins_culture_fkey FOREIGN KEY (club_id, culture_id) REFERENCES cultures (club_id, id)
);

CREATE TABLE batches (
  club_id    text   NOT NULL,
  id         text   NOT NULL,
  lot_number text   NOT NULL,
  product    text   NOT NULL CONSTRAINT batches_product_check CHECK (product IN ('vermicompost', 'screened', 'castings')),
  mesh_mm    double precision NOT NULL CONSTRAINT batches_mesh_check CHECK (mesh_mm >= 0),
  note       text   NOT NULL,
  created_at bigint NOT NULL,
  version    bigint NOT NULL,
  CONSTRAINT batches_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT batches_lot_number_key UNIQUE (club_id, lot_number),
  CONSTRAINT batches_club_fkey FOREIGN KEY (club_id) REFERENCES clubs (id)
);

ALTER TABLE members ENABLE ROW LEVEL SECURITY;
ALTER TABLE members FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON members
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE invitations ENABLE ROW LEVEL SECURITY;
ALTER TABLE invitations FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON invitations
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE sites ENABLE ROW LEVEL SECURITY;
ALTER TABLE sites FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON sites
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE bins ENABLE ROW LEVEL SECURITY;
ALTER TABLE bins FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON bins
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE materials ENABLE ROW LEVEL SECURITY;
ALTER TABLE materials FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON materials
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE cultures ENABLE ROW LEVEL SECURITY;
ALTER TABLE cultures FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON cultures
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE origins ENABLE ROW LEVEL SECURITY;
ALTER TABLE origins FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON origins
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE batches ENABLE ROW LEVEL SECURITY;
ALTER TABLE batches FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON batches
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
