-- My walk says what became of rounds that somebody took and did not hand in.
CREATE INDEX round_taken ON round (organisation_id, taken_by, latest_at DESC, id) WHERE taken_by IS NOT NULL;
