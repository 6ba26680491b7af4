-- The due list is sorted by the highest risk of an open order on the route. Rounds carry that figure, so that the list reads its order from
-- an index and its cost does not grow with what is open.
ALTER TABLE round ADD COLUMN risk smallint NOT NULL DEFAULT 0;

-- Stop by stop, so that the planner cannot choose to read every open order of the organisation instead.
CREATE FUNCTION risk_of_route(organisation uuid, route uuid) RETURNS smallint LANGUAGE sql STABLE AS $$
  SELECT coalesce(max(o.risk), 0)::smallint FROM route_stop s CROSS JOIN LATERAL (
    SELECT max(w.risk) AS risk FROM work_order w
    WHERE w.organisation_id = s.organisation_id AND w.point_id = s.point_id AND w.ended_at IS NULL) o
  WHERE s.organisation_id = organisation AND s.route_id = route
$$;

-- In the order of ids, as everybody else who holds rounds does.
CREATE FUNCTION rounds_take_risk(organisation uuid, routes uuid[]) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
  route uuid;
  fresh smallint;
  stale uuid[];
BEGIN
  FOREACH route IN ARRAY routes
  LOOP
    fresh := risk_of_route(organisation, route);
    SELECT array_agg(h.id) INTO stale FROM (
      SELECT r.id FROM round r WHERE r.organisation_id = organisation AND r.route_id = route AND r.closed_at IS NULL AND r.risk <> fresh
      ORDER BY r.id FOR NO KEY UPDATE) h;
    UPDATE round r SET risk = fresh WHERE r.organisation_id = organisation AND r.id = ANY (stale);
  END LOOP;
END $$;

CREATE FUNCTION orders_change_risk() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE found record;
BEGIN
  FOR found IN SELECT s.organisation_id, array_agg(DISTINCT s.route_id) AS routes FROM fresh n
      JOIN route_stop s ON s.organisation_id = n.organisation_id AND s.point_id = n.point_id GROUP BY s.organisation_id
  LOOP
    PERFORM rounds_take_risk(found.organisation_id, found.routes);
  END LOOP;
  RETURN NULL;
END $$;
CREATE FUNCTION orders_changed_risk() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE found record;
BEGIN
  FOR found IN SELECT s.organisation_id, array_agg(DISTINCT s.route_id) AS routes FROM fresh n
      JOIN was o ON o.organisation_id = n.organisation_id AND o.id = n.id
      JOIN route_stop s ON s.organisation_id = n.organisation_id AND s.point_id = n.point_id
      WHERE o.risk <> n.risk OR (o.ended_at IS NULL) <> (n.ended_at IS NULL) GROUP BY s.organisation_id
  LOOP
    PERFORM rounds_take_risk(found.organisation_id, found.routes);
  END LOOP;
  RETURN NULL;
END $$;
CREATE TRIGGER orders_added AFTER INSERT ON work_order REFERENCING NEW TABLE AS fresh
  FOR EACH STATEMENT EXECUTE FUNCTION orders_change_risk();
CREATE TRIGGER orders_changed AFTER UPDATE ON work_order REFERENCING OLD TABLE AS was NEW TABLE AS fresh
  FOR EACH STATEMENT EXECUTE FUNCTION orders_changed_risk();

CREATE FUNCTION stops_change_risk() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE found record;
BEGIN
  FOR found IN SELECT c.organisation_id, array_agg(DISTINCT c.route_id) AS routes FROM changed c GROUP BY c.organisation_id
  LOOP
    PERFORM rounds_take_risk(found.organisation_id, found.routes);
  END LOOP;
  RETURN NULL;
END $$;
CREATE TRIGGER stops_added AFTER INSERT ON route_stop REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION stops_change_risk();
CREATE TRIGGER stops_gone AFTER DELETE ON route_stop REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION stops_change_risk();

-- Open rounds only: by risk and end of window (overdue ones stand first in each risk), by beginning, by person, by route.
-- That of one site begins with the site: behind organisation_id it would serve, badly, for lists of the whole organisation too.
CREATE INDEX round_by_risk ON round (organisation_id, risk, latest_at, id) INCLUDE (earliest_at, site_id) WHERE closed_at IS NULL;
CREATE INDEX round_by_risk_at_site ON round (site_id, risk, latest_at, id) INCLUDE (organisation_id, earliest_at) WHERE closed_at IS NULL;
CREATE INDEX round_of_walker ON round (organisation_id, walker_id, earliest_at, id) INCLUDE (latest_at, risk) WHERE closed_at IS NULL;
CREATE INDEX round_open_of_route ON round (organisation_id, route_id) WHERE closed_at IS NULL;

-- The planner takes an organisation it has not seen yet for an empty one, and then any index that begins with organisation_id will do. So
-- the large tables are looked at early, not only when a tenth of all organisations' rows has changed.
DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['asset', 'point', 'point_revision', 'limit_set', 'fact', 'conclusion', 'forecast', 'route', 'route_stop', 'round',
    'extra_stop', 'finding', 'finding_evidence', 'work_order', 'move', 'import_row']
  LOOP
    EXECUTE format('ALTER TABLE %I SET (autovacuum_analyze_scale_factor = 0.01, autovacuum_analyze_threshold = 500)', t);
  END LOOP;
END $$;
