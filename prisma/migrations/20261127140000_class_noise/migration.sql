-- How much readings scatter at points of one class: learned from like points of the organisation, a record rather than a conclusion, so
-- that the conclusion of a point follows from its facts and from this.
CREATE TABLE class_noise (
  organisation_id uuid NOT NULL REFERENCES organisation,
  template text NOT NULL,
  quantity text NOT NULL,
  -- In the unit of the quantity.
  noise double precision NOT NULL CHECK (noise > 0),
  point_count integer NOT NULL CHECK (point_count > 0),
  learned_at timestamptz(3) NOT NULL,
  PRIMARY KEY (organisation_id, template, quantity)
);
ALTER TABLE class_noise ENABLE ROW LEVEL SECURITY;
ALTER TABLE class_noise FORCE ROW LEVEL SECURITY;
CREATE POLICY one_organisation ON class_noise TO heatround_app USING (organisation_id = current_organisation())
  WITH CHECK (organisation_id = current_organisation());
GRANT SELECT, INSERT, UPDATE ON class_noise TO heatround_app;

-- When the organisation last learned from its like points, by its own clock.
ALTER TABLE organisation ADD COLUMN classes_learned_at timestamptz(3);
