-- Exponent of the gas that a compressor compresses; without one it is air.
ALTER TABLE point ADD COLUMN gas_exponent double precision CHECK (gas_exponent > 1 AND gas_exponent < 2);
