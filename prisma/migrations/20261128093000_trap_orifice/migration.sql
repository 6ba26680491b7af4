-- Bore of a steam trap and what a tonne of its steam costs: what the loss of a trap that stays open is estimated from.
ALTER TABLE point
  ADD COLUMN orifice_mm double precision CHECK (orifice_mm > 0 AND orifice_mm <= 100),
  ADD COLUMN steam_price_per_tonne double precision CHECK (steam_price_per_tonne > 0);
