-- The tables of an archive that many benches share, who may do what with them, and what holds chains
-- together whatever a bench sends.  Run once, by who owns the database, within a transaction.
-- Search paths name temporary objects last, so that nobody puts one of his own in a table's place.

CREATE SCHEMA whetsight;
SET LOCAL search_path = whetsight, pg_temp;

-- ---- Tables ---------------------------------------------------------------------------------------

CREATE TABLE plant (
  one integer PRIMARY KEY CHECK (one = 1),
  form integer NOT NULL,
  pictures text NOT NULL,
  seals bigint NOT NULL DEFAULT 0,
  seals_hash text NOT NULL DEFAULT '');

-- Names stand in lines of their own in what is sealed.
CREATE TABLE head (
  bench text COLLATE "C" PRIMARY KEY CHECK (bench ~ '^[^[:cntrl:]]{1,200}$'),
  login name NOT NULL,
  count bigint NOT NULL,
  hash text NOT NULL,
  digest text NOT NULL);

-- Imported times may be any text.
CREATE FUNCTION month_of (moment text) RETURNS integer IMMUTABLE LANGUAGE sql AS $$
  SELECT CASE WHEN moment ~ '^20[0-9][0-9]-(0[1-9]|1[0-2])'
    THEN (substr (moment, 1, 4) || substr (moment, 6, 2))::integer ELSE 0 END $$;

CREATE SEQUENCE stored;
CREATE TABLE inspection (
  number bigint NOT NULL UNIQUE DEFAULT nextval ('stored'),
  bench text COLLATE "C" NOT NULL REFERENCES head (bench),
  place bigint NOT NULL,
  id text COLLATE "C" NOT NULL,
  time text COLLATE "C" NOT NULL,
  tool text COLLATE "C",
  kind text COLLATE "C" NOT NULL,
  view text COLLATE "C" NOT NULL,
  verdict text COLLATE "C",
  reason text COLLATE "C",
  image_name text COLLATE "C",
  image text COLLATE "C",
  annotated text COLLATE "C",
  settings text COLLATE "C",
  station text COLLATE "C",
  grinder text COLLATE "C",
  reground integer NOT NULL,
  pictures integer NOT NULL,
  previous text NOT NULL,
  hash text NOT NULL CHECK (hash ~ '^[0-9a-f]{64}$'),
  imported text COLLATE "C",
  clock text COLLATE "C",
  about text COLLATE "C",
  month integer GENERATED ALWAYS AS (whetsight.month_of (time)) STORED,
  PRIMARY KEY (bench, place),
  UNIQUE (bench, id));
CREATE INDEX inspection_id ON inspection (id);
CREATE INDEX inspection_tool ON inspection (tool, number);
CREATE INDEX inspection_time ON inspection (time);
CREATE INDEX inspection_newest ON inspection (bench, time) WHERE imported IS NULL;
CREATE INDEX inspection_image ON inspection (image);
CREATE INDEX inspection_about ON inspection (about) WHERE about IS NOT NULL;

-- Parts are years, by the month of the record's time: a query that finds its rows in inspection looks
-- into one part for each, but is planned over all of them.
CREATE TABLE record (
  number bigint NOT NULL,
  month integer NOT NULL,
  record text NOT NULL,
  PRIMARY KEY (number, month)) PARTITION BY RANGE (month);

CREATE TABLE quantity (
  number bigint NOT NULL,
  name text COLLATE "C" NOT NULL,
  value double precision,
  u double precision,
  lower double precision,
  upper double precision,
  verdict text COLLATE "C",
  month integer NOT NULL,
  PRIMARY KEY (number, name, month)) PARTITION BY RANGE (month);
CREATE INDEX quantity_value ON quantity (name, value);
CREATE INDEX quantity_newest ON quantity (name, number) INCLUDE (value);

CREATE TABLE file (
  sha256 text COLLATE "C" PRIMARY KEY CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  size bigint NOT NULL);

CREATE TABLE pending (
  sha256 text COLLATE "C" PRIMARY KEY CHECK (sha256 ~ '^[0-9a-f]{64}$'));

-- The newest row of a name counts.
CREATE TABLE account (
  row bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  bench text COLLATE "C" NOT NULL REFERENCES head (bench),
  name text COLLATE "C" NOT NULL,
  role text NOT NULL,
  hash text NOT NULL);
CREATE INDEX account_name ON account (bench, name);

CREATE TABLE seal (
  number bigint PRIMARY KEY,
  time text NOT NULL,
  count bigint NOT NULL,
  hash text NOT NULL,
  heads text NOT NULL,
  login name NOT NULL);

CREATE TABLE seal_text (
  number bigint PRIMARY KEY REFERENCES seal (number),
  text text NOT NULL);

-- ---- Chains ---------------------------------------------------------------------------------------

CREATE FUNCTION digest_of (rows bigint, hash text) RETURNS text IMMUTABLE LANGUAGE sql AS $$
  SELECT encode (sha256 (convert_to ('whetsight-head/1' || chr (10) || 'rows ' || rows || ' ' || hash
    || chr (10) || 'seals 0 ' || chr (10), 'UTF8')), 'hex') $$;

-- Until the transaction ends nobody else writes as this bench; others don't wait for it.
CREATE FUNCTION hold (which text) RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
DECLARE owner name;
BEGIN
  SELECT login INTO owner FROM head WHERE bench = which FOR UPDATE;
  IF NOT FOUND THEN
    INSERT INTO head VALUES (which, session_user, 0, '', digest_of (0, '')) ON CONFLICT DO NOTHING;
    SELECT login INTO owner FROM head WHERE bench = which FOR UPDATE;
  END IF;
  IF owner <> session_user THEN
    RAISE EXCEPTION 'the bench "%" is of the login %, not of %', which, owner, session_user
      USING ERRCODE = 'WS001';
  END IF;
END $$;

-- Makes the part for a month's year.  Whoever does keeps others from making one until his transaction
-- ends; one lock for all, so that two who make several don't wait for each other, and one that no bench
-- can take by itself.
CREATE FUNCTION begin_month (month integer) RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
DECLARE part text; year integer := month / 100;
BEGIN
  IF to_regclass ('whetsight.quantity_' || year) IS NOT NULL THEN
    RETURN;
  END IF;
  PERFORM 1 FROM plant FOR UPDATE;
  FOREACH part IN ARRAY ARRAY['record', 'quantity'] LOOP
    IF to_regclass (format ('whetsight.%s_%s', part, year)) IS NULL THEN
      EXECUTE format ('CREATE TABLE %1$s_%2$s (LIKE %1$s INCLUDING ALL)', part, year);
      EXECUTE format ('ALTER TABLE %1$s ATTACH PARTITION %1$s_%2$s FOR VALUES FROM (%3$s) TO (%4$s)',
        part, year, year * 100, year * 100 + 100);
    END IF;
  END LOOP;
END $$;

-- This month and the next, ahead of what is written, so that nobody waits for a long transaction that
-- begins them.
CREATE FUNCTION begin_months () RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
DECLARE today timestamp := now () AT TIME ZONE 'UTC';
BEGIN
  PERFORM begin_month (to_char (today, 'YYYYMM')::integer);
  PERFORM begin_month (to_char (today + interval '1 month', 'YYYYMM')::integer);
END $$;

-- What was added follows from the last row of its bench, in the order of places, and the head moves
-- to its end.
CREATE FUNCTION follow () RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
DECLARE last head; added record;
BEGIN
  SELECT min (bench) AS bench, count (DISTINCT bench) AS benches, count (*) AS rows,
    min (place) AS first, max (place) AS last INTO added FROM fresh;
  IF added.rows = 0 THEN
    RETURN NULL;
  END IF;
  PERFORM hold (added.bench);
  SELECT * INTO last FROM head WHERE bench = added.bench;
  IF added.benches > 1 OR added.first <> last.count + 1 OR added.last <> last.count + added.rows
    OR EXISTS (SELECT 1 FROM (SELECT previous, number, lag (hash, 1, last.hash) OVER places AS before,
      lag (number) OVER places AS earlier FROM fresh WINDOW places AS (ORDER BY place)) AS links
      WHERE previous <> before OR number < earlier) THEN
    RAISE EXCEPTION 'row % of "%" doesn''t follow from the last one there, %', added.first,
      added.bench, last.count USING ERRCODE = 'WS002';
  END IF;
  SELECT hash INTO last.hash FROM fresh WHERE place = added.last;
  UPDATE head SET count = added.last, hash = last.hash, digest = digest_of (added.last, last.hash)
    WHERE bench = added.bench;
  PERFORM begin_month (month) FROM (SELECT DISTINCT month FROM fresh) AS months;
  RETURN NULL;
END $$;
CREATE TRIGGER follow AFTER INSERT ON inspection REFERENCING NEW TABLE AS fresh
  FOR EACH STATEMENT EXECUTE FUNCTION follow ();

-- A picture that was announced is stored.
CREATE FUNCTION confirm (picture text) RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
BEGIN
  DELETE FROM pending p WHERE p.sha256 = picture
    AND EXISTS (SELECT 1 FROM file f WHERE f.sha256 = picture);
END $$;

-- The lines of heads are what is hashed; the seals before are, too.
CREATE FUNCTION make_seal (moment text) RETURNS seal
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = whetsight, pg_temp AS $$
DECLARE made seal; before plant;
BEGIN
  IF moment !~ '^[0-9T:Z-]{20}$' THEN
    RAISE EXCEPTION 'a seal''s time is none' USING ERRCODE = 'WS003';
  END IF;
  SELECT * INTO before FROM plant FOR UPDATE;
  SELECT coalesce (sum (count), 0),
    coalesce (string_agg (count || ' ' || hash || ' ' || bench || chr (10), '' ORDER BY bench), '')
    INTO made.count, made.heads FROM head WHERE count > 0;
  made.number := before.seals + 1;
  made.time := moment;
  made.login := session_user;
  made.hash := encode (sha256 (convert_to ('whetsight-heads/1' || chr (10) || made.heads, 'UTF8')),
    'hex');
  INSERT INTO seal VALUES (made.*);
  UPDATE plant SET seals = made.number, seals_hash = encode (sha256 (convert_to (
    'whetsight-seals/1' || chr (10) || 'previous ' || before.seals_hash || chr (10) || 'time '
    || moment || chr (10) || 'count ' || made.count || chr (10) || 'hash ' || made.hash || chr (10),
    'UTF8')), 'hex');
  RETURN made;
END $$;

-- ---- Rights ---------------------------------------------------------------------------------------

REVOKE ALL ON ALL FUNCTIONS IN SCHEMA whetsight FROM PUBLIC;
DO $$ BEGIN
  IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'whetsight_bench') THEN
    CREATE ROLE whetsight_bench;
  END IF;
  IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'whetsight_reader') THEN
    CREATE ROLE whetsight_reader;
  END IF;
END $$;
GRANT USAGE ON SCHEMA whetsight TO whetsight_bench, whetsight_reader;
GRANT SELECT ON plant, head, inspection, record, quantity, file, pending, account, seal, seal_text
  TO whetsight_bench, whetsight_reader;
GRANT INSERT ON record, quantity, file, pending, account, seal_text TO whetsight_bench;
-- The order of storing isn't a bench's to tell.
GRANT INSERT (bench, place, id, time, tool, kind, view, verdict, reason, image_name, image, annotated,
  settings, station, grinder, reground, pictures, previous, hash, imported, clock, about)
  ON inspection TO whetsight_bench;
GRANT USAGE ON SEQUENCE stored TO whetsight_bench;
GRANT EXECUTE ON FUNCTION hold (text), begin_months (), make_seal (text), month_of (text),
  confirm (text)
  TO whetsight_bench;

-- A login writes to the chains of its own benches alone, and sees accounts of these alone.
ALTER TABLE inspection ENABLE ROW LEVEL SECURITY;
ALTER TABLE record ENABLE ROW LEVEL SECURITY;
ALTER TABLE quantity ENABLE ROW LEVEL SECURITY;
ALTER TABLE account ENABLE ROW LEVEL SECURITY;
ALTER TABLE seal_text ENABLE ROW LEVEL SECURITY;
CREATE POLICY read ON inspection FOR SELECT USING (true);
CREATE POLICY read ON record FOR SELECT USING (true);
CREATE POLICY read ON quantity FOR SELECT USING (true);
CREATE POLICY read ON seal_text FOR SELECT USING (true);
CREATE POLICY read ON account FOR SELECT
  USING (bench IN (SELECT head.bench FROM head WHERE head.login = session_user));
CREATE POLICY own ON inspection FOR INSERT
  WITH CHECK (bench IN (SELECT head.bench FROM head WHERE head.login = session_user));
CREATE POLICY own ON account FOR INSERT
  WITH CHECK (bench IN (SELECT head.bench FROM head WHERE head.login = session_user));
CREATE POLICY own ON record FOR INSERT
  WITH CHECK (EXISTS (SELECT 1 FROM inspection i, head h WHERE i.number = record.number
    AND i.month = record.month AND h.bench = i.bench AND h.login = session_user));
CREATE POLICY own ON quantity FOR INSERT
  WITH CHECK (EXISTS (SELECT 1 FROM inspection i, head h WHERE i.number = quantity.number
    AND i.month = quantity.month AND h.bench = i.bench AND h.login = session_user));
CREATE POLICY own ON seal_text FOR INSERT
  WITH CHECK (EXISTS (SELECT 1 FROM seal s WHERE s.number = seal_text.number
    AND s.login = session_user));
