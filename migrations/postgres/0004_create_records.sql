-- +goose Up
CREATE TABLE feedings (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  bin_id           text   NOT NULL,
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  placement        text   NOT NULL,
  preparation      text   NOT NULL,
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  version          bigint NOT NULL,
  CONSTRAINT feedings_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT feedings_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT feedings_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX feedings_moment ON feedings (club_id, moment_at, id);
CREATE INDEX feedings_bin ON feedings (club_id, bin_id, moment_at, id);

CREATE TABLE feeding_items (
  club_id      text    NOT NULL,
  feeding_id   text    NOT NULL,
  line         bigint  NOT NULL,
  material_id  text    NOT NULL,
  typed_value  double precision NOT NULL,
  typed_unit   text    NOT NULL,
  wet_mg       bigint  NOT NULL CONSTRAINT feeding_items_wet_check CHECK (wet_mg > 0),
  moisture_pct double precision CONSTRAINT feeding_items_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  weighed      boolean NOT NULL,
  CONSTRAINT feeding_items_pkey PRIMARY KEY (club_id, feeding_id, line),
  CONSTRAINT feeding_items_feeding_fkey FOREIGN KEY (club_id, feeding_id) REFERENCES feedings (club_id, id),
  CONSTRAINT feeding_items_material_fkey FOREIGN KEY (club_id, material_id) REFERENCES materials (club_id, id)
);

CREATE TABLE checks (
  club_id          text   NOT NULL,
  id               text   NOT NULL,
  bin_id           text   NOT NULL,
  moment_at        bigint NOT NULL,
  moment_precision text   NOT NULL,
  temperature_c    double precision,
  moisture_pct     double precision CONSTRAINT checks_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  squeeze          text   NOT NULL,
  ph               double precision CONSTRAINT checks_ph_check CHECK (ph BETWEEN 0 AND 14),
  ammonia          boolean,
  leftover_pct     double precision CONSTRAINT checks_leftover_check CHECK (leftover_pct BETWEEN 0 AND 100),
  leftovers        text   NOT NULL, -- JSON array of feeding and percent
  worms_at         text   NOT NULL,
  pests            text   NOT NULL, -- JSON array
  beaded           boolean,
  escaped          boolean,
  leachate_l       double precision CONSTRAINT checks_leachate_check CHECK (leachate_l >= 0),
  cover            text   NOT NULL,
  note             text   NOT NULL,
  seq              bigint NOT NULL,
  recorded_at      bigint NOT NULL,
  recorded_by      text   NOT NULL,
  version          bigint NOT NULL,
  CONSTRAINT checks_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT checks_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT checks_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX checks_moment ON checks (club_id, moment_at, id);
CREATE INDEX checks_bin ON checks (club_id, bin_id, moment_at, id);

CREATE TABLE censuses (
  club_id          text    NOT NULL,
  id               text    NOT NULL, -- also of its first movement
  movement_id      text    NOT NULL, -- the movement that posts for it now
  bin_id           text    NOT NULL,
  species_id       text    NOT NULL,
  moment_at        bigint  NOT NULL,
  moment_precision text    NOT NULL,
  samples          text    NOT NULL, -- JSON array
  typed            text    NOT NULL, -- JSON: a keeper's figure as typed
  apply            boolean NOT NULL,
  mass_mg          bigint  NOT NULL,
  low_mg           bigint  NOT NULL,
  high_mg          bigint  NOT NULL,
  cv               double precision NOT NULL,
  worms            bigint,
  mean_mg          double precision,
  book_mg          bigint  NOT NULL,
  posted_mg        bigint  NOT NULL,
  warnings         text    NOT NULL, -- JSON array
  note             text    NOT NULL,
  seq              bigint  NOT NULL,
  recorded_at      bigint  NOT NULL,
  recorded_by      text    NOT NULL,
  version          bigint  NOT NULL,
  CONSTRAINT censuses_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT censuses_interval_check CHECK (0 <= low_mg AND low_mg <= mass_mg AND mass_mg <= high_mg),
  CONSTRAINT censuses_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT censuses_movement_fkey FOREIGN KEY (club_id, movement_id) REFERENCES movements (club_id, id),
  CONSTRAINT censuses_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX censuses_moment ON censuses (club_id, moment_at, id);
CREATE INDEX censuses_bin ON censuses (club_id, bin_id, moment_at, id);

CREATE TABLE harvests (
  club_id          text    NOT NULL,
  id               text    NOT NULL, -- also of its movement
  bin_id           text    NOT NULL,
  moment_at        bigint  NOT NULL,
  moment_precision text    NOT NULL,
  full_harvest     boolean NOT NULL,
  method           text    NOT NULL,
  mesh_mm          double precision NOT NULL CONSTRAINT harvests_mesh_check CHECK (mesh_mm >= 0),
  typed_value      double precision NOT NULL,
  typed_unit       text    NOT NULL,
  wet_mg           bigint  NOT NULL CONSTRAINT harvests_wet_check CHECK (wet_mg >= 0),
  moisture_pct     double precision CONSTRAINT harvests_moisture_check CHECK (moisture_pct BETWEEN 0 AND 100),
  dry_mg           bigint  NOT NULL CONSTRAINT harvests_dry_check CHECK (dry_mg BETWEEN 0 AND wet_mg),
  batch_id         text,
  put_back_mg      bigint  NOT NULL CONSTRAINT harvests_put_back_check CHECK (put_back_mg >= 0),
  worms_to         text,
  worms            text    NOT NULL, -- JSON array of lines
  note             text    NOT NULL,
  seq              bigint  NOT NULL,
  recorded_at      bigint  NOT NULL,
  recorded_by      text    NOT NULL,
  version          bigint  NOT NULL,
  CONSTRAINT harvests_pkey PRIMARY KEY (club_id, id),
  CONSTRAINT harvests_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id),
  CONSTRAINT harvests_movement_fkey FOREIGN KEY (club_id, id) REFERENCES movements (club_id, id),
  CONSTRAINT harvests_batch_fkey FOREIGN KEY (club_id, batch_id) REFERENCES batches (club_id, id),
  CONSTRAINT harvests_worms_to_fkey FOREIGN KEY (club_id, worms_to) REFERENCES bins (club_id, id),
  CONSTRAINT harvests_recorded_by_fkey FOREIGN KEY (club_id, recorded_by) REFERENCES members (club_id, id)
);
CREATE INDEX harvests_moment ON harvests (club_id, moment_at, id);
CREATE INDEX harvests_bin ON harvests (club_id, bin_id, moment_at, id);

CREATE TABLE bin_events (
  club_id   text   NOT NULL,
  bin_id    text   NOT NULL,
  moment_at bigint NOT NULL,
  seq       bigint NOT NULL,
  kind      text   NOT NULL,
  record_id text   NOT NULL,
  CONSTRAINT bin_events_pkey PRIMARY KEY (club_id, bin_id, moment_at, seq, kind, record_id),
  CONSTRAINT bin_events_bin_fkey FOREIGN KEY (club_id, bin_id) REFERENCES bins (club_id, id)
);

ALTER TABLE feedings ENABLE ROW LEVEL SECURITY;
ALTER TABLE feedings FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON feedings
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE feeding_items ENABLE ROW LEVEL SECURITY;
ALTER TABLE feeding_items FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON feeding_items
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE checks ENABLE ROW LEVEL SECURITY;
ALTER TABLE checks FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON checks
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE censuses ENABLE ROW LEVEL SECURITY;
ALTER TABLE censuses FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON censuses
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE harvests ENABLE ROW LEVEL SECURITY;
ALTER TABLE harvests FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON harvests
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));

ALTER TABLE bin_events ENABLE ROW LEVEL SECURITY;
ALTER TABLE bin_events FORCE ROW LEVEL SECURITY;
CREATE POLICY club ON bin_events
  USING      (club_id = NULLIF(current_setting('app.club_id', true), ''))
  WITH CHECK (club_id = NULLIF(current_setting('app.club_id', true), ''));
