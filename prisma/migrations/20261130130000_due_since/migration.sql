-- Since when a point has been waiting for its conclusion. It tells how far the worker lags behind, from an index whose size is what is due.
ALTER TABLE point_revision ADD COLUMN due_since timestamptz(3);
ALTER TABLE point_revision NO FORCE ROW LEVEL SECURITY;
UPDATE point_revision SET due_since = now() WHERE revision > concluded;
ALTER TABLE point_revision FORCE ROW LEVEL SECURITY;
CREATE INDEX point_revision_due_since ON point_revision (due_since) WHERE revision > concluded;

-- Begins when a concluded point changes, and anew when a conclusion is overtaken: then the work goes on and is not late.
CREATE FUNCTION point_falls_due() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  NEW.due_since := now();
  RETURN NEW;
END $$;
CREATE TRIGGER point_due BEFORE UPDATE ON point_revision FOR EACH ROW
  WHEN (NEW.revision > NEW.concluded AND (OLD.revision <= OLD.concluded OR NEW.concluded > OLD.concluded))
  EXECUTE FUNCTION point_falls_due();
