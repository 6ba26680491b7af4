/**
 * Complementary error function by rational Chebyshev approximation: W. J. Cody, "Rational Chebyshev approximations for the
 * error function", Mathematics of Computation 23 (1969) 631–637.
 * https://en.wikipedia.org/wiki/Error_function#Complementary_error_function
 *
 * Relative error below 1e-14 over the whole line until the result underflows, so lower tails may be summed safely.
 *
 * @param x any number; NaN gives NaN, −∞ gives 2, +∞ gives 0.
 * @returns 1 − erf(x), without unit, in [0, 2]. O(1).
 * @example erfc(0.5) // 0.4795001221869535
 */
export function erfc(x: number): number {
  const size = Math.abs(x);
  if (size <= 0.46875) return 1 - x * nearZero(size * size);
  if (size > 26.6) return x < 0 ? 2 : 0;
  const tail = scaledExponential(size) * (size <= 4 ? middle(size) : far(size));
  return x < 0 ? 2 - tail : tail;
}

/**
 * erfc(x)·e^(x²): a tail that neither underflows nor loses digits, for x at or above 0.
 * @example erfcScaled(10) // 0.0561409927438226
 */
export function erfcScaled(x: number): number {
  if (x <= 0.46875) return erfc(x) * Math.exp(x * x);
  return x <= 4 ? middle(x) : far(x);
}

/** e^(−x²) with x split at sixteenths, so that squaring loses no digits. */
function scaledExponential(x: number): number {
  const coarse = Math.trunc(x * 16) / 16;
  return Math.exp(-coarse * coarse) * Math.exp(-(x - coarse) * (x + coarse));
}

/** erf(x)/x for |x| ≤ 0.46875, from x². */
function nearZero(z: number): number {
  const top =
    (((0.18577770618460315 * z + 3.1611237438705655) * z + 113.86415415105016) * z + 377.485237685302) * z + 3209.3775891384694;
  const bottom = (((z + 23.601290952344122) * z + 244.02463793444417) * z + 1282.6165260773723) * z + 2844.236833439171;
  return top / bottom;
}

/** erfc(x)·e^(x²) for 0.46875 < x ≤ 4. */
function middle(x: number): number {
  let top = 2.1531153547440383e-8;
  top = top * x + 0.5641884969886701;
  top = top * x + 8.883149794388377;
  top = top * x + 66.11919063714163;
  top = top * x + 298.6351381974001;
  top = top * x + 881.952221241769;
  top = top * x + 1712.0476126340707;
  top = top * x + 2051.0783778260716;
  top = top * x + 1230.3393547979972;
  let bottom = x + 15.744926110709835;
  bottom = bottom * x + 117.6939508913125;
  bottom = bottom * x + 537.1811018620099;
  bottom = bottom * x + 1621.3895745666903;
  bottom = bottom * x + 3290.7992357334597;
  bottom = bottom * x + 4362.619090143247;
  bottom = bottom * x + 3439.3676741437216;
  bottom = bottom * x + 1230.3393548037495;
  return top / bottom;
}

/** erfc(x)·e^(x²) for x > 4. */
function far(x: number): number {
  const z = 1 / (x * x);
  let top = 0.016315387137302097;
  top = top * z + 0.30532663496123236;
  top = top * z + 0.36034489994980445;
  top = top * z + 0.12578172611122926;
  top = top * z + 0.016083785148742275;
  top = top * z + 0.0006587491615298378;
  let bottom = z + 2.568520192289822;
  bottom = bottom * z + 1.8729528499234673;
  bottom = bottom * z + 0.5279051029514285;
  bottom = bottom * z + 0.06051834131244132;
  bottom = bottom * z + 0.0023352049762686918;
  return (1 / Math.sqrt(Math.PI) - (z * top) / bottom) / x;
}
