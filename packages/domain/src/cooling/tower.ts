/** Recoolers: how near they bring their fluid to the air they work with. Temperatures in °C, differences in K. */

/** Largest error of the fit upwards, K. */
const FIT_ERROR_K = 0.65;

/**
 * Wet bulb of air at usual pressure. Stull 2011, J. Appl. Meteor. Climatol. 50; right within −1 to +0.65 K. The fit fails where it
 * is cold and dry at once.
 * @param air °C, −20 to 50. @param humidity %, 5 to 99.
 * @returns °C, or null outside the range, and where the fit passes the air by more than its error.
 * @example wetBulb(20, 50) // 13.7
 */
export function wetBulb(air: number, humidity: number): number | null {
  if (!(air >= -20 && air <= 50) || !(humidity >= 5 && humidity <= 99)) return null;
  const wet =
    air * Math.atan(0.151_977 * Math.sqrt(humidity + 8.313_659)) +
    Math.atan(air + humidity) -
    Math.atan(humidity - 1.676_331) +
    0.003_918_38 * humidity ** 1.5 * Math.atan(0.023_101 * humidity) -
    4.686_035;
  return wet > air + FIT_ERROR_K ? null : wet;
}

/**
 * Fluid out of a recooler over the coldest it could become: the wet bulb of an evaporative one, the air of a dry one (ASHRAE, CTI).
 * @returns K, or null when an entry is no finite number.
 * @example coolerApproach(26.5, 21) // 5.5
 */
export function coolerApproach(fluidOut: number, coldest: number): number | null {
  const over = fluidOut - coldest;
  return Number.isFinite(over) ? over : null;
}

/**
 * Effectiveness of an evaporative recooler: range/(range + approach) (textbook).
 * @param range fluid in less fluid out, K, not below 0. @param approach K, not below 0, not both 0.
 * @returns 0 to 1, or null outside the range.
 * @example coolerEffectiveness(5, 5.5) // 0.476
 */
export function coolerEffectiveness(range: number, approach: number): number | null {
  const share = range / (range + approach);
  return range >= 0 && approach >= 0 && Number.isFinite(share) ? share : null;
}

/** Recoolers are compared at so much of their range at rated load, % (common practice, no source). */
export const COMPARABLE_RANGE_PERCENT = { least: 75, most: 110 } as const;
