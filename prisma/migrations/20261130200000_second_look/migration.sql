-- Findings that ask a planner to look again, beside those that want their first answer; and those that are open, newest first.
CREATE INDEX finding_to_look_at ON finding (organisation_id, reported_at DESC, id DESC)
  WHERE asks_planner AND (stands <> 'reported' OR ended_at IS NOT NULL);
CREATE INDEX finding_open_newest ON finding (organisation_id, reported_at DESC, id DESC) WHERE ended_at IS NULL AND stands <> 'same-as';
