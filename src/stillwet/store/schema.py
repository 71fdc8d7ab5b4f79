"""The statements of each migration. Shipped text is never changed: add a step instead.

Tables of our own are STRICT. The layers cannot be: a GeoPackage wants the geometry column declared
as POINT or the like (R31), which STRICT knows nothing of; CHECKs do its work there. The gpkg_
tables are word for word those of the standard's Annex C.
"""

from __future__ import annotations

CONTAINER = """\
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE stillwet_migrations (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE,
  applied TEXT NOT NULL,
  sha256 TEXT NOT NULL
) STRICT;
CREATE TRIGGER stillwet_migrations_keep BEFORE UPDATE ON stillwet_migrations
BEGIN SELECT RAISE(ABORT, 'the record of migrations is only added to'); END;
CREATE TRIGGER stillwet_migrations_stay BEFORE DELETE ON stillwet_migrations
BEGIN SELECT RAISE(ABORT, 'the record of migrations is only added to'); END;
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('stillwet_migrations', 'attributes', 'stillwet_migrations', 'What this file has been through');
"""

JOB_TABLES = """\
CREATE TABLE inputs (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  input_hash TEXT NOT NULL UNIQUE,
  kept_s REAL NOT NULL,
  job_name TEXT NOT NULL,
  sources TEXT NOT NULL
) STRICT;
CREATE TRIGGER inputs_keep BEFORE UPDATE ON inputs
BEGIN SELECT RAISE(ABORT, 'inputs are only added to'); END;
CREATE TRIGGER inputs_stay BEFORE DELETE ON inputs
BEGIN SELECT RAISE(ABORT, 'inputs are only added to'); END;
CREATE TABLE job (
  id INTEGER PRIMARY KEY AUTOINCREMENT CHECK (id = 1),
  name TEXT NOT NULL,
  time_zone TEXT NOT NULL,
  crs TEXT NOT NULL,
  start_s REAL NOT NULL,
  members INTEGER NOT NULL,
  seed INTEGER NOT NULL,
  input_hash TEXT NOT NULL REFERENCES inputs (input_hash),
  kept_s REAL NOT NULL,
  record TEXT NOT NULL
) STRICT;
CREATE TABLE assets (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POINT NOT NULL CHECK (typeof(geom) = 'blob'),
  asset_id TEXT NOT NULL UNIQUE CHECK (typeof(asset_id) = 'text'),
  name TEXT NOT NULL CHECK (typeof(name) = 'text'),
  kind TEXT NOT NULL CHECK (typeof(kind) = 'text'),
  material TEXT NOT NULL CHECK (typeof(material) = 'text'),
  value REAL NOT NULL CHECK (typeof(value) = 'real'),
  must BOOLEAN NOT NULL CHECK (must IN (0, 1)),
  released BOOLEAN NOT NULL CHECK (released IN (0, 1)),
  exposure TEXT NOT NULL CHECK (typeof(exposure) = 'text'),
  arrival_from_s REAL NOT NULL CHECK (typeof(arrival_from_s) = 'real'),
  arrival_to_s REAL NOT NULL CHECK (typeof(arrival_to_s) = 'real'),
  note TEXT NOT NULL CHECK (typeof(note) = 'text'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE footprints (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POLYGON NOT NULL CHECK (typeof(geom) = 'blob'),
  asset_id TEXT NOT NULL UNIQUE REFERENCES assets (asset_id),
  name TEXT NOT NULL CHECK (typeof(name) = 'text')
);
CREATE TABLE surfaces (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POINT NOT NULL CHECK (typeof(geom) = 'blob'),
  surface_id TEXT NOT NULL UNIQUE CHECK (typeof(surface_id) = 'text'),
  asset_id TEXT NOT NULL REFERENCES assets (asset_id),
  label TEXT NOT NULL CHECK (typeof(label) = 'text'),
  geometry TEXT NOT NULL CHECK (geometry IN ('wall', 'roof', 'cylinder', 'blade')),
  tilt_deg REAL NOT NULL CHECK (typeof(tilt_deg) = 'real'),
  azimuth_deg REAL NOT NULL CHECK (typeof(azimuth_deg) = 'real'),
  area_m2 REAL NOT NULL CHECK (typeof(area_m2) = 'real'),
  length_m REAL NOT NULL CHECK (typeof(length_m) = 'real'),
  height_m REAL NOT NULL CHECK (typeof(height_m) = 'real')
);
CREATE TABLE lines (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom LINESTRING NOT NULL CHECK (typeof(geom) = 'blob'),
  line_id TEXT NOT NULL CHECK (typeof(line_id) = 'text'),
  name TEXT NOT NULL CHECK (typeof(name) = 'text'),
  purpose TEXT NOT NULL CHECK (typeof(purpose) = 'text'),
  length_m REAL NOT NULL CHECK (typeof(length_m) = 'real'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE streams (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom LINESTRING NOT NULL CHECK (typeof(geom) = 'blob'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE roads (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom LINESTRING NOT NULL CHECK (typeof(geom) = 'blob'),
  speed_m_s REAL CHECK (typeof(speed_m_s) IN ('real', 'null')),
  one_way BOOLEAN NOT NULL CHECK (one_way IN (0, 1)),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE water_points (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POINT NOT NULL CHECK (typeof(geom) = 'blob'),
  point_id TEXT NOT NULL CHECK (typeof(point_id) = 'text'),
  name TEXT NOT NULL CHECK (typeof(name) = 'text'),
  fill_flow_m3_s REAL NOT NULL CHECK (typeof(fill_flow_m3_s) = 'real'),
  hardness_kg_m3 REAL NOT NULL CHECK (typeof(hardness_kg_m3) = 'real'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE depots (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POINT NOT NULL CHECK (typeof(geom) = 'blob'),
  depot_id TEXT NOT NULL CHECK (typeof(depot_id) = 'text'),
  name TEXT NOT NULL CHECK (typeof(name) = 'text'),
  stock_m3 REAL NOT NULL CHECK (typeof(stock_m3) = 'real'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE wells (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom POINT NOT NULL CHECK (typeof(geom) = 'blob'),
  well_id TEXT NOT NULL CHECK (typeof(well_id) = 'text'),
  name TEXT NOT NULL CHECK (typeof(name) = 'text'),
  kind TEXT NOT NULL CHECK (typeof(kind) = 'text'),
  record TEXT NOT NULL CHECK (typeof(record) = 'text')
);
CREATE TABLE products (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  product_id TEXT NOT NULL UNIQUE,
  name TEXT NOT NULL,
  product_type TEXT NOT NULL,
  ratio_low REAL NOT NULL,
  ratio_high REAL NOT NULL,
  record TEXT NOT NULL
) STRICT;
CREATE TABLE crews (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  crew_id TEXT NOT NULL,
  name TEXT NOT NULL,
  tank_m3 REAL NOT NULL,
  people INTEGER NOT NULL,
  record TEXT NOT NULL
) STRICT;
CREATE TABLE forecasts (
  id INTEGER PRIMARY KEY AUTOINCREMENT CHECK (id = 1),
  source TEXT NOT NULL,
  latitude_deg REAL NOT NULL,
  longitude_deg REAL NOT NULL,
  elevation_m REAL NOT NULL,
  wind_height_m REAL NOT NULL,
  time_zone TEXT NOT NULL,
  issued_s REAL,
  sun_shift_s REAL NOT NULL,
  ensemble_columns TEXT NOT NULL,
  basis TEXT NOT NULL
) STRICT;
CREATE TABLE weather (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  forecast_id INTEGER NOT NULL REFERENCES forecasts (id),
  time_s REAL NOT NULL UNIQUE,
  air_temperature_k REAL,
  relative_humidity REAL,
  wind_speed_m_s REAL,
  wind_direction_deg REAL,
  pressure_pa REAL,
  ghi_w_m2 REAL,
  dni_w_m2 REAL,
  dhi_w_m2 REAL,
  cloud_cover REAL,
  precipitation_kg_m2 REAL
) STRICT;
CREATE TABLE weather_members (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  weather_id INTEGER NOT NULL REFERENCES weather (id),
  member INTEGER NOT NULL,
  air_temperature_k REAL,
  relative_humidity REAL,
  wind_speed_m_s REAL,
  cloud_cover REAL,
  ghi_w_m2 REAL
) STRICT;
CREATE INDEX weather_members_weather_id ON weather_members (weather_id);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES
  ('assets', 'features', 'assets', 'What is to be coated', -1),
  ('footprints', 'features', 'footprints', 'Outlines of assets that have one', -1),
  ('surfaces', 'features', 'surfaces', 'Faces of assets, each at its asset', -1),
  ('lines', 'features', 'lines', 'Lines to be wetted', -1),
  ('streams', 'features', 'streams', 'Water that gel must be kept out of', -1),
  ('roads', 'features', 'roads', 'Roads that crews drive on', -1),
  ('water_points', 'features', 'water_points', 'Where tanks are filled', -1),
  ('depots', 'features', 'depots', 'Where concentrate is loaded', -1),
  ('wells', 'features', 'wells', 'Wells, springs and cisterns', -1);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('inputs', 'attributes', 'inputs', 'Every set of job files this file was made from'),
  ('job', 'attributes', 'job', 'The job itself'),
  ('products', 'attributes', 'products', 'Concentrates'),
  ('crews', 'attributes', 'crews', 'Crews'),
  ('forecasts', 'attributes', 'forecasts', 'Where and whose the weather is'),
  ('weather', 'attributes', 'weather', 'Hourly weather'),
  ('weather_members', 'attributes', 'weather_members', 'Members of an ensemble forecast');
INSERT INTO gpkg_geometry_columns
  (table_name, column_name, geometry_type_name, srs_id, z, m) VALUES
  ('assets', 'geom', 'POINT', -1, 0, 0),
  ('footprints', 'geom', 'POLYGON', -1, 0, 0),
  ('surfaces', 'geom', 'POINT', -1, 0, 0),
  ('lines', 'geom', 'LINESTRING', -1, 0, 0),
  ('streams', 'geom', 'LINESTRING', -1, 0, 0),
  ('roads', 'geom', 'LINESTRING', -1, 0, 0),
  ('water_points', 'geom', 'POINT', -1, 0, 0),
  ('depots', 'geom', 'POINT', -1, 0, 0),
  ('wells', 'geom', 'POINT', -1, 0, 0);
"""

LOG_TABLE = """\
CREATE TABLE log (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  entry_id TEXT NOT NULL,
  content_hash TEXT NOT NULL,
  kind TEXT NOT NULL,
  when_s REAL NOT NULL,
  written_s REAL NOT NULL,
  writer TEXT NOT NULL,
  device TEXT NOT NULL,
  replaces TEXT,
  note TEXT NOT NULL,
  record TEXT NOT NULL,
  UNIQUE (entry_id, content_hash)
) STRICT;
CREATE TRIGGER log_keep BEFORE UPDATE ON log
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
CREATE TRIGGER log_stay BEFORE DELETE ON log
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('log', 'attributes', 'log', 'The field log: only added to');
"""

PLAN_TABLES = """\
CREATE TABLE plans (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  plan_id TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('coats', 'crews', 'lines')),
  made_s REAL NOT NULL,
  model_version TEXT NOT NULL,
  seed INTEGER NOT NULL,
  members INTEGER NOT NULL,
  input_hash TEXT NOT NULL REFERENCES inputs (input_hash),
  answer_hash TEXT NOT NULL,
  record TEXT NOT NULL,
  UNIQUE (kind, plan_id, answer_hash)
) STRICT;
CREATE TRIGGER plans_keep BEFORE UPDATE ON plans
BEGIN SELECT RAISE(ABORT, 'plans are kept, never changed'); END;
CREATE TRIGGER plans_stay BEFORE DELETE ON plans
BEGIN SELECT RAISE(ABORT, 'plans are kept, never removed'); END;
CREATE TABLE routes (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  geom LINESTRING NOT NULL CHECK (typeof(geom) = 'blob'),
  plan_row INTEGER NOT NULL REFERENCES plans (id),
  plan_id TEXT NOT NULL CHECK (typeof(plan_id) = 'text'),
  crew_id TEXT NOT NULL CHECK (typeof(crew_id) = 'text'),
  crew_name TEXT NOT NULL CHECK (typeof(crew_name) = 'text'),
  stops INTEGER NOT NULL CHECK (typeof(stops) = 'integer'),
  start_s REAL NOT NULL CHECK (typeof(start_s) = 'real'),
  end_s REAL NOT NULL CHECK (typeof(end_s) = 'real')
);
CREATE TABLE trials (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  trial_id TEXT NOT NULL,
  product_id TEXT NOT NULL,
  content_hash TEXT NOT NULL,
  record TEXT NOT NULL,
  UNIQUE (trial_id, content_hash)
) STRICT;
CREATE TRIGGER trials_keep BEFORE UPDATE ON trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
CREATE TRIGGER trials_stay BEFORE DELETE ON trials
BEGIN SELECT RAISE(ABORT, 'trials are only added to'); END;
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES
  ('routes', 'features', 'routes', 'The ways crews drive, by plan',
   (SELECT srs_id FROM gpkg_contents WHERE table_name = 'assets'));
INSERT INTO gpkg_geometry_columns
  (table_name, column_name, geometry_type_name, srs_id, z, m) VALUES
  ('routes', 'geom', 'LINESTRING',
   (SELECT srs_id FROM gpkg_contents WHERE table_name = 'assets'), 0, 0);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('plans', 'attributes', 'plans', 'Every plan made from this file'),
  ('trials', 'attributes', 'trials', 'Mixes tried and coats weighed');
"""
