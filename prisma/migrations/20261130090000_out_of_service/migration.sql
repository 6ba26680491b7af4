-- Why an asset was taken out of service, and by whom; its points carry the same moment.
ALTER TABLE asset
  ADD COLUMN retired_reason text CHECK (btrim(retired_reason) <> ''),
  ADD COLUMN retired_by uuid,
  ADD CONSTRAINT asset_retired_with_reason CHECK ((retired_at IS NULL) = (retired_reason IS NULL) AND (retired_at IS NULL) = (retired_by IS NULL));
-- Those out of service are listed by themselves.
CREATE INDEX asset_retired ON asset (organisation_id, tag, id) WHERE retired_at IS NOT NULL;
