-- Tables that have just begun to fill have no statistics yet: the planner, which also plans what checks each foreign key, then takes any
-- index that begins with the organisation and reads all of it for every row. Whoever puts many rows into the register asks for this; only
-- the owner may look at a table so, hence the owner's rights, for these tables and nothing else.
CREATE FUNCTION learn_young_tables() RETURNS void LANGUAGE plpgsql SECURITY DEFINER AS $$
DECLARE t text;
BEGIN
  FOR t IN
    SELECT c.relname FROM pg_class c
    WHERE c.oid = ANY (ARRAY['asset', 'asset_tag', 'asset_word', 'point', 'point_revision', 'limit_set']::regclass[]) AND c.reltuples < 5000
    ORDER BY c.relname
  LOOP
    EXECUTE format('ANALYZE %I', t);
  END LOOP;
END $$;
-- Nothing that its caller could put in front is found instead, temporary tables included.
DO $$ BEGIN EXECUTE format('ALTER FUNCTION learn_young_tables() SET search_path = %I, pg_temp', current_schema()); END $$;
REVOKE ALL ON FUNCTION learn_young_tables() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION learn_young_tables() TO heatround_app;
